package notebook

import (
	"bytes"
	"compress/gzip"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"sync"
	"testing"
)

// next is what a later version might add.
const next = "ALTER TABLE entry ADD COLUMN operator TEXT NOT NULL DEFAULT 'nobody'"

func TestMigration(t *testing.T) {
	ctx := context.Background()
	file := filled(t, 3)
	later := append(append([]string{}, steps...), next, "CREATE INDEX entry_operator ON entry (operator)")
	n := opened(t, file, config{steps: later, waitMs: waitMs})
	var operator string
	if err := n.db.QueryRow("SELECT operator FROM entry WHERE label = 'C1'").Scan(&operator); err != nil || operator != "nobody" {
		t.Errorf("%q, %v", operator, err)
	}
	if id, err := identify(ctx, n.db); err != nil || id.version != len(later) || id.application != applicationID {
		t.Errorf("%+v, %v", id, err)
	}
	if got := len(listed(t, n, Filter{})); got != 3 {
		t.Errorf("%d entries", got)
	}
	n.Close()
	_, err := Open(ctx, file) // this program is older than the file now
	wants(t, err, ErrNewer)

	old, err := Open(ctx, BackupOf(file, Version)) // and the copy is what it was
	if err != nil {
		t.Fatal(err)
	}
	defer old.Close()
	if err := old.Check(ctx); err != nil || len(listed(t, old, Filter{})) != 3 {
		t.Errorf("the copy: %v", err)
	}
}

func TestMigrationThatFails(t *testing.T) {
	file := filled(t, 2)
	_, err := open(context.Background(), file, config{steps: append(append([]string{}, steps...), next, "CREATE NONSENSE"), waitMs: waitMs})
	if err == nil || !strings.Contains(err.Error(), fmt.Sprintf("from version %d to %d", Version+1, Version+2)) {
		t.Errorf("%v", err)
	}
	n := opened(t, file, config{steps: steps, waitMs: waitMs}) // as it was
	if got := len(listed(t, n, Filter{})); got != 2 {
		t.Errorf("%d entries", got)
	}
	add(t, n, capacitor(9, "since then", 1e-7, 1e-10))
	n.Close()
	opened(t, file, config{steps: append(append([]string{}, steps...), next), waitMs: waitMs})
	old := opened(t, BackupOf(file, Version), config{steps: steps, waitMs: waitMs})
	if got := len(listed(t, old, Filter{})); got != 3 {
		t.Errorf("%d entries in the copy", got)
	}
}

func TestMigrationWithoutRoomForTheCopy(t *testing.T) {
	text, err := os.ReadFile(filled(t, 2))
	if err != nil {
		t.Fatal(err)
	}
	dir := mounted(t, fmt.Sprint(len(text)+60000)) // the copy takes as much as the file
	file := filepath.Join(dir, "n.db")
	if err := os.WriteFile(file, text, 0o600); err != nil {
		t.Fatal(err)
	}
	_, err = open(context.Background(), file, config{steps: append(append([]string{}, steps...), next), waitMs: waitMs})
	if !errors.Is(err, ErrFull) || !strings.Contains(err.Error(), "left as it is") {
		t.Errorf("%v", err)
	}
	if left, _ := filepath.Glob(filepath.Join(dir, "*.part")); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
	n := opened(t, file, config{steps: steps, waitMs: waitMs})
	if got := len(listed(t, n, Filter{})); got != 2 {
		t.Errorf("%d entries", got)
	}
}

func TestSeveralMigrate(t *testing.T) {
	file := filled(t, 2)
	later := append(append([]string{}, steps...), next)
	var wait sync.WaitGroup
	for range 4 {
		wait.Go(func() {
			n, err := open(context.Background(), file, config{steps: later, waitMs: waitMs})
			if err != nil {
				t.Error(err)
				return
			}
			n.Close()
		})
	}
	wait.Wait()
	if n, err := Open(context.Background(), BackupOf(file, Version)); err != nil {
		t.Error(err)
	} else {
		n.Close()
	}
}

// Files of released versions stay readable. testdata/versionN.db.gz was written by
// that version, with TestWriteExample.
func TestFilesOfAllVersions(t *testing.T) {
	for version := 1; version <= Version; version++ {
		file := filepath.Join(t.TempDir(), "n.db")
		unzip(t, exampleOf(version), file)
		n := opened(t, file, config{steps: steps, waitMs: waitMs})
		for label, count := range map[string]int{"C12": 2, "coil": 1, "": 1} {
			got := 0
			for _, e := range listed(t, n, Filter{}) {
				if e.Label == label {
					got++
				}
			}
			if got != count {
				t.Errorf("version %d: %d entries of %q, want %d", version, got, label, count)
			}
		}
		e, err := n.Get(context.Background(), 1)
		if err != nil || e.Document(JigFile) == nil || e.key() != e.Key {
			t.Errorf("version %d: %+v, %v", version, e, err)
		}
		if err := n.Check(context.Background()); err != nil {
			t.Errorf("version %d: %v", version, err)
		}
		all := listed(t, n, Filter{})
		if err := n.Results(context.Background(), all); err != nil {
			t.Fatal(err)
		}
		for _, e := range all { // what lists show is the main figure, whatever that version chose
			if _, is, err := summarise(e.Result); err != nil || !reflect.DeepEqual(is.Points, e.Points) {
				t.Errorf("version %d: entry %d has the points %+v, want %+v (%v)", version, e.ID, e.Points, is.Points, err)
			}
		}
	}
}

func unzip(t *testing.T, from, to string) {
	t.Helper()
	f, err := os.Open(from)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	z, err := gzip.NewReader(f)
	if err != nil {
		t.Fatal(err)
	}
	text, err := io.ReadAll(z)
	if err == nil {
		err = os.WriteFile(to, text, 0o600)
	}
	if err != nil {
		t.Fatal(err)
	}
}

func exampleOf(version int) string { return fmt.Sprintf("testdata/version%d.db.gz", version) }

// TestWriteExample writes the file of this version, once: go test -run WriteExample -update.
func TestWriteExample(t *testing.T) {
	to := exampleOf(Version)
	if _, err := os.Stat(to); err == nil || !*update {
		t.Skip("it is there, or -update is not given")
	}
	n := fresh(t)
	add(t, n, capacitor(0, "C12", 100e-9, 50e-12), capacitor(1, "C12", 100.01e-9, 50e-12), sweep("coil", 5),
		someResult(3, `{"schema": "wheatear.calibrate/1", "frequencies_hz": [1000], "findings": []}`))
	if _, err := n.db.Exec("VACUUM"); err != nil {
		t.Fatal(err)
	}
	if err := n.Close(); err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(n.file)
	if err != nil {
		t.Fatal(err)
	}
	var packed bytes.Buffer
	z := gzip.NewWriter(&packed)
	if _, err := z.Write(text); err != nil || z.Close() != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(to, packed.Bytes(), 0o666); err != nil {
		t.Fatal(err)
	}
}
