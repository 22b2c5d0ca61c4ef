package bench

import (
	"archive/zip"
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"
)

func jigFile(t *testing.T, name, text string) string {
	t.Helper()
	file := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(file, []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
	return file
}

func TestRemember(t *testing.T) {
	s := At(filepath.Join(t.TempDir(), "benches"))
	if _, err := s.Current(); !errors.Is(err, ErrNone) {
		t.Fatalf("an empty shelf has a current bench: %v", err)
	}
	one, two := jigFile(t, "a.toml", "one"), jigFile(t, "a.toml", "two")
	a, err := s.Remember("kitchen-table jig", one)
	if err != nil || a.Name != "kitchen-table-jig" {
		t.Fatalf("%+v, %v", a, err)
	}
	b, err := s.Remember("Kitchen table: jig!", two) // another file of the same name
	if err != nil || b.Name != "kitchen-table-jig-2" {
		t.Fatalf("%+v, %v", b, err)
	}
	if again, err := s.Remember("other name", one); err != nil || again.Name != a.Name {
		t.Errorf("the same file again: %+v, %v", again, err)
	}
	if now, err := s.Current(); err != nil || now.Jig != one {
		t.Errorf("current is %+v, %v", now, err)
	}
	if err := s.Use("kitchen-table-jig-2"); err != nil {
		t.Error(err)
	}
	if now, _ := s.Current(); now.Jig != two {
		t.Errorf("current is %+v", now)
	}
	for _, name := range []string{"", "..", "../x", "nobody"} {
		if err := s.Use(name); err == nil {
			t.Errorf("%q can be used", name)
		}
	}
	if err := s.Use("nobody"); err == nil || !strings.Contains(err.Error(), "there are kitchen-table-jig, kitchen-table-jig-2") {
		t.Errorf("an unknown name: %v", err)
	}
}

// Several programs keep calibrations at the same moment: each has its own file, the
// newest comes first.
func TestKeepAtOnce(t *testing.T) {
	s := At(t.TempDir())
	b, err := s.Remember("jig", jigFile(t, "jig.toml", "jig text"))
	if err != nil {
		t.Fatal(err)
	}
	made := time.Date(2026, 11, 30, 13, 45, 0, 0, time.UTC)
	var wg sync.WaitGroup
	for range 20 {
		wg.Go(func() {
			if _, err := b.Keep([]byte("earlier"), made); err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
	newest, err := b.Keep([]byte("newest"), made.Add(time.Hour))
	if err != nil {
		t.Fatal(err)
	}
	list, err := b.Calibrations()
	if err != nil || len(list) != 21 || list[0] != newest {
		t.Fatalf("%d kept, the newest is %v, want %s (%v)", len(list), list[:1], newest, err)
	}
	if jig, err := JigOf(list[3]); err != nil || string(jig) != "jig text" {
		t.Errorf("jig: %q, %v", jig, err)
	}
}

// The newest calibration is the one made last, whatever the clock says.
func TestKeepWhenTheClockJumps(t *testing.T) {
	s := At(t.TempDir())
	b, err := s.Remember("jig", jigFile(t, "jig.toml", "jig text"))
	if err != nil {
		t.Fatal(err)
	}
	made := time.Date(2026, 11, 30, 13, 45, 0, 0, time.UTC)
	for i, at := range []time.Time{made, made.AddDate(1, 0, 0), made.AddDate(-1, 0, 0), made, made.AddDate(1, 0, 0)} {
		file, err := b.Keep([]byte("text"), at)
		if err != nil {
			t.Fatal(err)
		}
		if list, err := b.Calibrations(); err != nil || len(list) != i+1 || list[0] != file {
			t.Errorf("calibration %d of %v: the newest of %d is %s, want %s (%v)", i, at, len(list), list[0], file, err)
		}
	}
}

func TestCarry(t *testing.T) {
	from, to := At(t.TempDir()), At(t.TempDir())
	b, err := from.Remember("garden jig", jigFile(t, "jig.toml", "the jig"))
	if err != nil {
		t.Fatal(err)
	}
	for i, text := range []string{"first", "second"} {
		if _, err := b.Keep([]byte(text), time.Date(2026, 11, 1+i, 0, 0, 0, 0, time.UTC)); err != nil {
			t.Fatal(err)
		}
	}
	var archive bytes.Buffer
	if err := b.Export(&archive); err != nil {
		t.Fatal(err)
	}
	got, err := to.Import(archive.Bytes(), "garden jig")
	if err != nil {
		t.Fatal(err)
	}
	if text, err := os.ReadFile(got.Jig); err != nil || string(text) != "the jig" {
		t.Errorf("jig: %q, %v", text, err)
	}
	list, err := got.Calibrations()
	if err != nil || len(list) != 2 {
		t.Fatalf("%d calibrations, %v", len(list), err)
	}
	if text, _ := os.ReadFile(list[0]); string(text) != "second" {
		t.Errorf("the newest is %q", text)
	}
	if now, err := to.Current(); err != nil || now.Name != got.Name {
		t.Errorf("current: %+v, %v", now, err)
	}
}

// An archive from elsewhere writes nothing outside of the folder of its bench, and
// leaves nothing behind where it is refused.
func TestForeignArchives(t *testing.T) {
	root := t.TempDir()
	s := At(filepath.Join(root, "benches"))
	for name, files := range map[string][]string{
		"no jig":  {"other.txt"},
		"escapes": {"jig.toml", "../../out.txt", "calibrations/../../../out.json", "/etc/out", `..\out`},
	} {
		var archive bytes.Buffer
		z := zip.NewWriter(&archive)
		for _, f := range files {
			w, err := z.Create(f)
			if err == nil {
				_, err = w.Write([]byte("x"))
			}
			if err != nil {
				t.Fatal(err)
			}
		}
		if err := z.Close(); err != nil {
			t.Fatal(err)
		}
		b, err := s.Import(archive.Bytes(), name)
		if (err == nil) != (name == "escapes") {
			t.Errorf("%s: %+v, %v", name, b, err)
		}
	}
	if _, err := s.Import([]byte("no archive"), "x"); err == nil {
		t.Error("any text is an archive")
	}
	var found []string
	filepath.Walk(root, func(path string, info os.FileInfo, err error) error {
		if err == nil && !info.IsDir() {
			found = append(found, strings.TrimPrefix(path, root+"/"))
		}
		return nil
	})
	if got := strings.Join(found, " "); got != "benches/current benches/escapes/bench.json benches/escapes/jig.toml" {
		t.Errorf("written: %s", got)
	}
}
