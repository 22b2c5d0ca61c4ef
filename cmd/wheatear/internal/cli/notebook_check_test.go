package cli

import (
	"bytes"
	"context"
	"database/sql"
	"path/filepath"
	"strings"
	"testing"

	"example.org/wheatear/cmd/wheatear/internal/clitest"
)

// A result of which a digit was changed on the disk is left out by name, everything
// else comes out, and the recording that was kept makes it anew.
func TestHurtResultIsMadeAgain(t *testing.T) {
	file := filepath.Join(t.TempDir(), "n.db")
	t.Setenv("WHEATEAR_NOTEBOOK", file)
	dir := "../../../../testdata/recordings/p11-uncalibrated/"
	run := func(want Status, args ...string) string {
		t.Helper()
		var out, talk bytes.Buffer
		if got := Run(context.Background(), args, strings.NewReader(""), &out, &talk); Status(got) != want {
			t.Fatalf("%q: exit status %d, want %d\n%s%s", args, got, want, out.String(), talk.String())
		}
		return out.String() + talk.String()
	}
	for _, part := range []string{"part-r470.wav", "part-c150n.wav"} {
		Run(context.Background(), []string{"measure", "--jig", dir + "../jig.toml", "--recording", dir + part, "--at", "1k", "--label", part, "--keep-recordings"}, strings.NewReader(""), &bytes.Buffer{}, &bytes.Buffer{})
	}
	whole := run(Done, "notebook", "export")
	db, err := sql.Open("sqlite", file)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	spoil := func() {
		t.Helper()
		r, err := db.Exec(`UPDATE result SET body = replace(body, '"ok"', '"open"') WHERE entry = 1`)
		if err != nil {
			t.Fatal(err)
		}
		if n, _ := r.RowsAffected(); n != 1 {
			t.Fatalf("%d results changed", n)
		}
	}
	spoil()
	said := run(Failed, "notebook", "export")
	if !strings.Contains(said, "number 1") || !strings.Contains(said, `"label":"part-c150n.wav"`) || strings.Contains(said, `"label":"part-r470.wav"`) {
		t.Errorf("export of a hurt notebook: %.2000s", said)
	}
	run(Failed, "notebook", "show", "1")
	run(Done, "notebook", "show", "2")
	if said := run(Failed, "notebook", "check"); !strings.Contains(said, "entry 1: its result") {
		t.Errorf("check: %s", said)
	}
	if said := run(Done, "notebook", "check", "--mend", "--json"); !strings.Contains(said, `"mended": true`) {
		t.Errorf("mending: %s", said)
	} else if err := clitest.ConformsText([]byte(said)); err != nil {
		t.Error(err)
	}
	if again := run(Done, "notebook", "export"); again != whole {
		t.Error("mended, it is exported otherwise")
	}
	if said := run(Done, "notebook", "check"); !strings.Contains(said, "no faults found: 2 entries, 2 kept recordings") {
		t.Errorf("check: %s", said)
	}
}
