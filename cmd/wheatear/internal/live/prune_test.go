package live

import (
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"example.org/wheatear/cmd/wheatear/internal/clitest"
	"example.org/wheatear/lockin/fixture"
)

// recordedFolder makes a folder with recordings of a thousand bytes each, in this order.
func recordedFolder(t *testing.T, names ...string) (*Folder, string) {
	t.Helper()
	dir := t.TempDir()
	f, err := OpenFolder(dir, []byte("a jig"))
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range names {
		role, _, _ := strings.Cut(name, "-")
		f.manifest.Recordings = append(f.manifest.Recordings, entry{File: name + ".wav", Role: role, TonesHz: []float64{1000}})
		put(t, dir, name+".wav", 900)
		put(t, dir, name+".json", 100)
	}
	if err := f.write(); err != nil {
		t.Fatal(err)
	}
	return f, dir
}

func put(t *testing.T, dir, name string, bytes int) {
	t.Helper()
	if err := os.WriteFile(filepath.Join(dir, name), make([]byte, bytes), 0o666); err != nil {
		t.Fatal(err)
	}
}

// sound checks that manifest and files of a folder agree, and returns the recordings.
func sound(t *testing.T, dir string) []string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(dir, manifestName))
	if err == nil {
		err = clitest.ConformsText(text)
	}
	var m manifest
	if err == nil {
		err = json.Unmarshal(text, &m)
	}
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, e := range m.Recordings {
		stem := strings.TrimSuffix(e.File, ".wav")
		for _, name := range []string{stem + ".wav", stem + ".json"} {
			if _, err := os.Stat(filepath.Join(dir, name)); err != nil {
				t.Errorf("the manifest lists what is not there: %v", err)
			}
		}
		names = append(names, stem)
	}
	return names
}

func none(string, fixture.Role) bool { return false }

func TestPruneTakesTheOldest(t *testing.T) {
	_, dir := recordedFolder(t, "open-1", "part-b-1", "part-a-1", "short-1", "part-b-2")
	standards := func(_ string, role fixture.Role) bool { return role != fixture.PartRole }
	for _, c := range []struct {
		most   int64
		wanted func(string, fixture.Role) bool
		left   []string
	}{
		{5000, none, []string{"open-1", "part-b-1", "part-a-1", "short-1", "part-b-2"}},
		{4999, standards, []string{"open-1", "part-a-1", "short-1", "part-b-2"}},
		{3500, standards, []string{"open-1", "short-1", "part-b-2"}},
		{1, standards, []string{"open-1", "short-1"}},
		{1500, none, []string{"short-1"}},
		{0, none, nil},
	} {
		gone, err := Prune(dir, c.most, c.wanted)
		if err != nil {
			t.Fatal(err)
		}
		if got := sound(t, dir); !slices.Equal(got, c.left) {
			t.Errorf("to %d bytes: left %v, removed %v; want %v", c.most, got, gone.Files, c.left)
		}
		if gone.Bytes != 1000*int64(len(gone.Files)) {
			t.Errorf("%d bytes of %v", gone.Bytes, gone.Files)
		}
	}
	if text, err := os.ReadFile(filepath.Join(dir, "jig.toml")); err != nil || string(text) != "a jig" {
		t.Errorf("the jig file: %q, %v", text, err)
	}
	// No name is given twice, as a reading may still speak of the first.
	f, err := OpenFolder(dir, []byte("a jig"))
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"part-b-3.wav", "part-a-2.wav", "open-2.wav"} {
		what := Subject{Role: fixture.PartRole, Name: strings.Split(want, "-")[1]}
		if strings.HasPrefix(want, "open") {
			what = Subject{Role: fixture.Open}
		}
		if got := filepath.Base(f.next(what)); got != want {
			t.Errorf("the next is called %s, want %s", got, want)
		}
	}
}

// A program that is killed leaves files that the manifest does not list: between the
// manifest and the files when it prunes, and the other way round when it records. The
// manifest never lists what is gone, and the next time they go first.
func TestPruneAfterAKill(t *testing.T) {
	names := []string{"part-a-1", "part-a-2", "part-a-3", "part-a-4"}
	for removed := range 5 { // files that were removed before the kill, of two recordings
		f, dir := recordedFolder(t, names...)
		list, _, err := f.recordings()
		if err != nil {
			t.Fatal(err)
		}
		if err := f.forget(list[:2]); err != nil {
			t.Fatal(err)
		}
		for _, name := range []string{"part-a-1.json", "part-a-1.wav", "part-a-2.json", "part-a-2.wav"}[:removed] {
			if err := os.Remove(filepath.Join(dir, name)); err != nil {
				t.Fatal(err)
			}
		}
		if got := sound(t, dir); !slices.Equal(got, names[2:]) {
			t.Errorf("after the kill: %v", got)
		}
		if _, err := Prune(dir, 2000, none); err != nil {
			t.Fatal(err)
		}
		files, err := filepath.Glob(filepath.Join(dir, "part-*"))
		if got := sound(t, dir); err != nil || !slices.Equal(got, names[2:]) || len(files) != 4 {
			t.Errorf("%d files gone before the kill: left %v, %q", removed, got, files)
		}
	}
}

// Files of others in the folder are no recordings.
func TestPruneLeavesOthersAlone(t *testing.T) {
	_, dir := recordedFolder(t, "part-a-1")
	others := []string{"notes.json", "holiday-1.wav", "part.wav", "part-a.wav", "part-a-0.wav", "part-a-1.txt"}
	for _, name := range others {
		put(t, dir, name, 10)
	}
	gone, err := Prune(dir, 0, none)
	if err != nil || !slices.Equal(gone.Files, []string{"part-a-1.wav"}) {
		t.Errorf("removed %v, %v", gone, err)
	}
	for _, name := range others {
		if _, err := os.Stat(filepath.Join(dir, name)); err != nil {
			t.Error(err)
		}
	}
	if gone, err := Prune(filepath.Join(dir, "nowhere"), 0, none); err != nil || len(gone.Files) > 0 {
		t.Errorf("a folder that is not there: %v, %v", gone, err)
	}
}
