package cli

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"example.org/wheatear/cmd/wheatear/internal/sweep"
	"example.org/wheatear/lockin/fixture"
)

// begun is a sweep that has come to no point.
func begun(file string) *steps {
	return &steps{file: file, state: &sweep.State{Jig: sweep.NewFile("jig.toml", nil), FrequenciesHz: []float64{100, 200}}}
}

func (s *steps) addPoint(freqHz float64) error {
	s.state.Points = append(s.state.Points, &sweep.Point{Corrected: &fixture.Corrected{NominalHz: freqHz}})
	return s.save()
}

// A sweep that was ended before its first point is in the way of no other.
func TestSweepAfterOneWithoutAPoint(t *testing.T) {
	jig := benchOn(t, t.TempDir())
	state := filepath.Join(t.TempDir(), "state.json")
	if err := begun(state).save(); err != nil {
		t.Fatal(err)
	}
	if status, said := running("sweep", "--jig", jig, "--at", "1k", "--part", "c100n", "--state", state); status != Done {
		t.Errorf("exit status %d: %s", status, said)
	}
	if _, err := os.Stat(state); !os.IsNotExist(err) {
		t.Errorf("the finished sweep leaves its points: %v", err)
	}
	for name, text := range map[string]string{"notes": "not to be lost", "empty": "", "folder": ""} {
		file := filepath.Join(t.TempDir(), name)
		if name == "folder" {
			if err := os.Mkdir(file, 0o700); err != nil {
				t.Fatal(err)
			}
		} else if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		if status, said := running("sweep", "--jig", jig, "--at", "1k", "--part", "c100n", "--state", file); status != Failed || !strings.Contains(said, "keeps the points") {
			t.Errorf("%s: exit status %d: %s", name, status, said)
		}
	}
}

// Two sweeps that name one file, begun before either has a point: the later one says so
// and leaves the points of the other alone.
func TestSweepsOfOneFile(t *testing.T) {
	file := filepath.Join(t.TempDir(), "state.json")
	first, second := begun(file), begun(file)
	for _, s := range []*steps{first, second} {
		if keepsPoints(file) {
			t.Fatal("a file without a point is in the way")
		}
		if err := s.save(); err != nil {
			t.Fatal(err)
		}
	}
	if err := first.addPoint(100); err != nil {
		t.Fatal(err)
	}
	if !keepsPoints(file) {
		t.Error("a file with a point may be written over")
	}
	if err := second.addPoint(100); !errors.Is(err, errTaken) {
		t.Errorf("the other sweep writes over it: %v", err)
	}
	if second.own() || !first.own() {
		t.Error("the file is not that of the first")
	}
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if s, err := sweep.Decode(file, text); err != nil || len(s.Points) != 1 {
		t.Errorf("%v: %s", err, text)
	}
	if err := first.addPoint(200); err != nil {
		t.Error(err)
	}
}
