package live

import (
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"example.org/wheatear/audio"
	"example.org/wheatear/audio/kept"
	"example.org/wheatear/audio/virtual"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/record"
)

func openFolder(t *testing.T, dir string) *Folder {
	t.Helper()
	f, err := OpenFolder(dir, []byte(jigText))
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// What was kept analyses to the same, to the last bit, and the manifest tells what
// it was.
func TestKeptRecordsAreTheSame(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "deep", "er")
	for _, faults := range []virtual.Faults{virtual.TypicalFaults(1), {Noise: [2]float64{1e-5, 1e-5}}} {
		s, _ := session(t, card(t, 1, faults), Options{Folder: openFolder(t, dir)})
		take, err := s.Take(context.Background(), Subject{Role: fixture.PartRole, Name: "r470 / left"}, plan(t, s, 1000))
		if err != nil {
			t.Fatal(err)
		}
		run, err := kept.Read(strings.TrimSuffix(take.Observation.File, ".wav"))
		if err != nil {
			t.Fatal(err)
		}
		again, err := record.Analyze(signalOf(run.Record), record.Config{TonesHz: []float64{1000}, MainsHz: 50})
		if err != nil || !reflect.DeepEqual(again, take.Observation.Analysis) {
			t.Errorf("%s: another analysis (%v)", take.Observation.File, err)
		}
		if run.Device.Name != "simulated jig" || run.Config.RateHz != 48000 || run.Config.Frames != run.Record.Frames() {
			t.Errorf("kept %+v", run)
		}
	}
	want := []string{"jig.toml", "manifest.json", "part-r470_left-1.json", "part-r470_left-1.wav", "part-r470_left-2.json", "part-r470_left-2.wav"}
	if got := files(t, dir); !slices.Equal(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
	var m manifest
	text, err := os.ReadFile(filepath.Join(dir, "manifest.json"))
	if err != nil || json.Unmarshal(text, &m) != nil || len(m.Recordings) != 2 || !m.Recordings[1].Used || *m.Recordings[1].Part != "r470 / left" {
		t.Errorf("%v: %s", err, text)
	}
}

func files(t *testing.T, dir string) []string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, e := range entries {
		out = append(out, e.Name())
	}
	return out
}

// Spoilt records and refused standards are kept, too, and marked.
func TestManifestSaysWhatWasNotUsed(t *testing.T) {
	if testing.Short() {
		t.Skip("arithmetic of one goroutine; the whole run has it")
	}
	dir := t.TempDir()
	c := &spoiling{Card: with470(t), changes: []func(*audio.Record){dropout, nil}}
	s, _ := session(t, c, Options{Folder: openFolder(t, dir)})
	take, err := s.Take(context.Background(), part, plan(t, s, 1000))
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Reject(take, "does not please"); err != nil {
		t.Fatal(err)
	}
	f := openFolder(t, dir) // as the next session finds it
	if r := f.manifest.Recordings; len(r) != 2 || r[0].Used || !strings.HasPrefix(r[0].Why, "dropout") || r[1].Used || r[1].Why != "does not please" {
		t.Errorf("%+v", r)
	}
	if next := f.next(part); filepath.Base(next) != "part-r470-3.wav" {
		t.Errorf("next is %s", next)
	}
}

func TestFolderRefuses(t *testing.T) {
	dir := t.TempDir()
	openFolder(t, dir)
	if _, err := OpenFolder(dir, []byte("another")); err == nil || !strings.Contains(err.Error(), "another jig file") {
		t.Errorf("another jig: %v", err)
	}
	for _, text := range []string{"{", `{"schema": "wheatear.recordings/2", "jig": "jig.toml"}`, `{"schema": "wheatear.recordings/1", "jig": "../jig.toml"}`} {
		if err := os.WriteFile(filepath.Join(dir, "manifest.json"), []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
		if _, err := OpenFolder(dir, []byte(jigText)); err == nil || !strings.Contains(err.Error(), "manifest.json") {
			t.Errorf("%s: %v", text, err)
		}
	}
	if _, err := OpenFolder(filepath.Join(dir, "manifest.json"), nil); err == nil {
		t.Error("a file was taken for a folder")
	}
}
