package cli

import (
	"bytes"
	"context"
	"database/sql"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/clitest"
	"example.org/wheatear/cmd/wheatear/internal/notebook"
)

// readPart makes a desk with a recording, and returns what reads it: the exit status,
// the result, and the talk.
func readPart(t *testing.T) func(change func(*app), flags ...string) (int, string, string) {
	t.Helper()
	t.Chdir(t.TempDir())
	if err := os.WriteFile("jig.toml", []byte(clitest.Jig), 0o666); err != nil {
		t.Fatal(err)
	}
	if err := clitest.Default().Write("part.wav", "R470", []float64{1000}); err != nil {
		t.Fatal(err)
	}
	return func(change func(*app), flags ...string) (int, string, string) {
		var out, talk bytes.Buffer
		a := newApp(context.Background(), strings.NewReader(""), &out, &talk)
		if change != nil {
			change(a)
		}
		status := a.run(append([]string{"measure", "--jig", "jig.toml", "--at", "1k", "--recording", "part.wav", "--json"}, flags...))
		return status, out.String(), talk.String()
	}
}

// troubles are notebooks with which something is wrong.
var troubles = []struct {
	name, says string
	make       func(t *testing.T, file string) (as string)
}{
	{"damaged", "damaged or no notebook", func(t *testing.T, file string) string {
		return written(t, file, "this is no notebook")
	}},
	{"newer", "version 99", func(t *testing.T, file string) string {
		changed(t, file, "PRAGMA user_version = 99")
		return file
	}},
	{"of another program", "damaged or no notebook", func(t *testing.T, file string) string {
		changed(t, file, "PRAGMA application_id = 1")
		return file
	}},
	{"locked", "another program holds it locked", func(t *testing.T, file string) string {
		db := changed(t, file, "BEGIN IMMEDIATE")
		t.Cleanup(func() { db.Exec("ROLLBACK") })
		return file
	}},
	{"a folder", "no ordinary file", func(t *testing.T, file string) string { return filepath.Dir(file) }},
	{"below a file", "name another file with WHEATEAR_NOTEBOOK", func(t *testing.T, file string) string {
		return filepath.Join(written(t, file, "x"), "n.db")
	}},
	{"on a full disk", "the disk is full", func(t *testing.T, file string) string {
		dir := t.TempDir()
		if out, err := exec.Command("mount", "-t", "tmpfs", "-o", "size=16k", "tmpfs", dir).CombinedOutput(); err != nil {
			t.Skipf("no disk of its own may be mounted: %v %s", err, out)
		}
		t.Cleanup(func() { exec.Command("umount", "-l", dir).Run() })
		return filepath.Join(dir, "n.db")
	}},
}

func written(t *testing.T, file, text string) string {
	t.Helper()
	if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	return file
}

// changed does something to a notebook, behind its back.
func changed(t *testing.T, file, what string) *sql.DB {
	t.Helper()
	n, err := notebook.Open(context.Background(), file)
	if err != nil {
		t.Fatal(err)
	}
	if err := n.Close(); err != nil {
		t.Fatal(err)
	}
	db, err := sql.Open("sqlite", file)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	db.SetMaxOpenConns(1)
	if _, err := db.Exec(what); err != nil {
		t.Fatal(err)
	}
	return db
}

// Whatever is wrong with the notebook is told once, and the reading and the exit status
// are as they are without it.
func TestTroubleWithTheNotebook(t *testing.T) {
	read := readPart(t)
	status, want, quiet := read(nil, "--no-notebook")
	if status != 0 || !strings.Contains(want, "wheatear.measure/1") || strings.Contains(quiet, "notebook") {
		t.Fatalf("without: status %d, %s%s", status, want, quiet)
	}
	for _, tc := range troubles {
		t.Run(tc.name, func(t *testing.T) {
			file := tc.make(t, filepath.Join(t.TempDir(), "n.db"))
			t.Setenv(notebook.Env, file)
			began := time.Now()
			status, out, talk := read(nil)
			if status != 0 || out != want {
				t.Errorf("status %d, the result differs:\n%s", status, out)
			}
			flat := strings.Join(strings.Fields(talk), " ")
			if strings.Count(flat, "not in the notebook") != 1 || !strings.Contains(flat, tc.says) || !strings.Contains(flat, file) {
				t.Errorf("said: %s", talk)
			}
			t.Logf("%v: %s", time.Since(began).Round(time.Millisecond), flat)
		})
	}
}

// A disk that does not answer holds nothing up for long.
func TestNotebookThatHangs(t *testing.T) {
	read := readPart(t)
	release := make(chan struct{})
	left := make(chan struct{})
	status, out, talk := read(func(a *app) {
		a.patience = 20 * time.Millisecond
		a.addTo = func(context.Context, string, *notebook.Entry, []string) error {
			<-release
			close(left)
			return nil
		}
	})
	if status != 0 || !strings.Contains(out, "wheatear.measure/1") || !strings.Contains(strings.Join(strings.Fields(talk), " "), "did not answer in time") {
		t.Errorf("status %d, %s", status, talk)
	}
	close(release)
	<-left
}

// An interrupt ends the work, and what was finished before is kept all the same.
func TestNotebookOfAnInterruptedRun(t *testing.T) {
	read := readPart(t)
	file := filepath.Join(t.TempDir(), "n.db")
	t.Setenv(notebook.Env, file)
	read(func(a *app) {
		ctx, cancel := context.WithCancel(context.Background())
		a.ctx = ctx
		now := a.now
		a.now = func() time.Time { cancel(); return now() } // the notebook asks for the time first
	}, "--label", "R1", "--note", "interrupted")
	n, err := notebook.OpenToRead(context.Background(), file)
	if err != nil {
		t.Fatal(err)
	}
	defer n.Close()
	list, err := n.List(context.Background(), notebook.Filter{Label: "R1"})
	if err != nil || len(list) != 1 || list[0].Note != "interrupted" || list[0].Files[0] != "part.wav" ||
		list[0].Command != "wheatear measure --jig jig.toml --at 1k --recording part.wav --json --label R1 --note interrupted" {
		t.Errorf("%+v, %v", list, err)
	}
}

func TestMoments(t *testing.T) {
	now := time.Date(2026, 3, 31, 12, 0, 0, 0, time.Local)
	for text, want := range map[string]time.Time{
		"2026-01-02":                {},
		"2026-01-02T15:04":          {},
		"2026-01-02T15:04:05+02:00": time.Date(2026, 1, 2, 13, 4, 5, 0, time.UTC),
		"12h":                       now.Add(-12 * time.Hour),
		"30d":                       time.Date(2026, 3, 1, 12, 0, 0, 0, time.Local),
		"2w":                        time.Date(2026, 3, 17, 12, 0, 0, 0, time.Local),
		"1y":                        time.Date(2025, 3, 31, 12, 0, 0, 0, time.Local),
		"0d":                        now,
	} {
		if want.IsZero() {
			want, _ = time.ParseInLocation("2006-01-02T15:04"[:len(text)], text, time.Local)
		}
		var m moment
		if err := m.Set(text); err != nil || !m.before(now).Equal(want) {
			t.Errorf("%q: %v, %v; want %v", text, m.before(now), err, want)
		}
	}
	for _, text := range []string{"", "d", "-1d", "1", "1m", "tomorrow", "2026-13-01", "9999999y", "1.5d"} {
		if err := new(moment).Set(text); err == nil {
			t.Errorf("%q is accepted", text)
		}
	}
	if got := new(moment).before(now); !got.IsZero() {
		t.Errorf("not given: %v", got)
	}
}
