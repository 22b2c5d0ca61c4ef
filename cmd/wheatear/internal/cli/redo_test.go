package cli

import (
	"context"
	"encoding/json"
	"math"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/notebook"
	"example.org/wheatear/cmd/wheatear/internal/tell"
)

// The command that the notebook has of what was measured on the page makes the same
// again, after another calibration, too.
func TestPageResultsCanBeMadeAgain(t *testing.T) {
	if testing.Short() {
		t.Skip("computes much")
	}
	dir := t.TempDir()
	t.Chdir(dir)
	s := serving(t, "--listen", "127.0.0.1:0", "--folder", filepath.Join(dir, "bench"))
	file := filepath.Join(dir, "n.db")
	t.Setenv(notebook.Env, file)
	s.at(t, "cautions", `{}`)
	s.at(t, "jig", `{"key": "simulated"}`)
	calibrate := func() {
		s.at(t, "calibration", `{"at": "~1k,~3k", "loads": ["1k/0.1%"], "auto": true}`)
		s.free(t)
	}
	calibrate()
	s.at(t, "tray/part", `{"name": "timing-film"}`)
	s.at(t, "readings", `{"at": "~1k", "note": "twice", "to": "0.05%", "within": "2"}`)
	s.at(t, "sweep", `{"at": "~1k,~3k"}`)
	s.free(t)
	s.at(t, "sweep", `{"at": "~1k,~3k", "together": true}`)
	s.free(t)
	s.at(t, "tray/part", `{"name": "open"}`)
	s.at(t, "sort", `{"expect": "1k/1%", "at": "~1k", "bins": "0.5%,1%"}`)
	s.says(t, `"stage":"empty"`)
	s.at(t, "tray/part", `{"name": "load"}`)
	s.says(t, `"parts":1`)
	s.at(t, "stop", `{}`)
	s.free(t)
	calibrate()
	if status := s.stop(); status != 0 {
		t.Fatalf("serve ended with %d", status)
	}
	kinds := map[notebook.Kind]int{}
	for _, e := range entries(t, file) {
		kinds[e.Kind]++
		if strings.Contains(e.Command, "serve") {
			t.Errorf("%s: %s", e.Kind, e.Command)
			continue
		}
		var out, talk strings.Builder
		args := append(strings.Fields(strings.ReplaceAll(e.Command, "'", ""))[1:], "--json") // no word of these has a blank
		t.Setenv(notebook.Env, notebook.Off)
		if status := Run(context.Background(), args, strings.NewReader(""), &out, &talk); status != 0 {
			t.Errorf("%s: %d %s", e.Command, status, talk.String())
			continue
		}
		same(t, e, []byte(out.String()))
	}
	if kinds[notebook.Calibration] != 2 || kinds[notebook.Reading] != 1 || kinds["sweep"] != 2 || kinds["sort"] != 1 {
		t.Errorf("entered: %v", kinds)
	}
}

// says waits until the state has a text.
func (s *served) says(t *testing.T, want string) {
	t.Helper()
	state := ""
	for began := time.Now(); time.Since(began) < time.Minute; time.Sleep(20 * time.Millisecond) {
		if _, state = fetch(t, "GET", s.url+"api/state", ""); strings.Contains(state, want) {
			return
		}
	}
	t.Fatalf("%s is never said: %s", want, state)
}

func entries(t *testing.T, file string) []*notebook.Entry {
	t.Helper()
	ctx := context.Background()
	n, err := notebook.OpenToRead(ctx, file)
	if err != nil {
		t.Fatal(err)
	}
	defer n.Close()
	list, err := n.List(ctx, notebook.Filter{})
	if err == nil {
		err = n.Results(ctx, list)
	}
	if err != nil {
		t.Fatal(err)
	}
	return list
}

// same compares what two results read as, within the digits that are shown: what is
// written of them is the same but for the last digit, which rounding may change.
func same(t *testing.T, e *notebook.Entry, again []byte) {
	t.Helper()
	type doc struct {
		Frequencies []float64 `json:"frequencies_hz"`
		Passed      int       `json:"passed"`
		Mean        float64   `json:"mean"`
		Readings    []struct {
			Z struct {
				Modulus struct{ Value, U float64 } `json:"modulus_ohm"`
			}
		}
	}
	var a, b doc
	if err := json.Unmarshal(e.Result, &a); err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(again, &b); err != nil {
		t.Fatal(err)
	}
	if len(a.Readings) != len(b.Readings) || len(a.Frequencies) != len(b.Frequencies) || len(a.Readings)+len(a.Frequencies)+a.Passed == 0 || a.Passed != b.Passed || a.Mean != b.Mean {
		t.Errorf("%s: %d readings, %d again", e.Command, len(a.Readings), len(b.Readings))
		return
	}
	for i, r := range a.Readings {
		// Two digits of the uncertainty are shown: half of the last is less than this.
		const digits = 0.05
		x, y := r.Z.Modulus, b.Readings[i].Z.Modulus
		if !(x.U > 0) || math.Abs(x.Value-y.Value) > digits*x.U || math.Abs(x.U-y.U) > digits*x.U {
			t.Errorf("%s: %v, again %v", e.Command, x, y)
		}
	}
	if e.Kind == notebook.Reading && len(tell.EntryResult(e.ShowDocument(nil))) < 2 {
		t.Errorf("%s: nothing to tell", e.Command)
	}
}
