package notebook

import (
	"context"
	"flag"
	"fmt"
	"math"
	"path/filepath"
	"testing"
	"time"
)

// soak runs the long tests, too.
var soak = flag.Bool("soak", false, "run the long tests")

// update writes what the tests compare with.
var update = flag.Bool("update", false, "write the example file of this version")

// noon is when the readings of tests are made.
var noon = time.Date(2026, 3, 14, 12, 0, 0, 0, time.UTC)

// fresh is an empty notebook in a folder that has yet to be made, with a name that
// means something to whoever takes it apart carelessly.
func fresh(t testing.TB) *Notebook {
	t.Helper()
	return opened(t, filepath.Join(t.TempDir(), "my data", "50% of? #1.db"), config{steps: steps, waitMs: waitMs})
}

func opened(t testing.TB, file string, c config) *Notebook {
	t.Helper()
	n, err := open(context.Background(), file, c)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { n.Close() })
	return n
}

// capacitor is a reading of one, i minutes after noon.
func capacitor(i int, label string, farad, u float64) *Entry {
	return &Entry{
		Time: noon.Add(time.Duration(i) * time.Minute), Label: label, Command: fmt.Sprintf("wheatear measure --part %s", label),
		Documents: []Document{NewDocument(JigFile, "jig.toml", "name = \"jig\"\n"), NewDocument(CalibrationFile, "cal.json", `{"version": 1}`)},
		Files:     []string{label + ".wav"},
		Result: fmt.Appendf(nil, `{"schema": "wheatear.measure/1", "jig": "test jig", "calibration": "cal.json", "readings": [
 {"frequency_nominal_hz": 1000, "frequency_hz": {"value": 1000.01, "u": 0.03, "low": 999.95, "high": 1000.07}, "state": "ok",
  "z": {"re_ohm": {"value": 0.5, "u": 0.01, "low": 0.48, "high": 0.52}, "im_ohm": {"value": %[1]g, "u": 1, "low": -1600, "high": -1500}, "correlation": 0.1,
        "modulus_ohm": {"value": %[2]g, "u": 1, "low": 1500, "high": 1600}, "phase_rad": {"value": -1.57, "u": 0.001, "low": -1.572, "high": -1.568}},
  "series": {"r_ohm": {"value": 0.5, "u": 0.01, "low": 0.48, "high": 0.52}, "c_f": {"value": %[3]g, "u": %[4]g, "low": 0, "high": 1}, "l_h": null},
  "parallel": {"r_ohm": null, "c_f": {"value": %[3]g, "u": %[4]g, "low": 0, "high": 1}, "l_h": null},
  "q": null, "d": {"value": 0.0003, "u": 0.00001, "low": 0.00028, "high": 0.00032}, "dominant": "capacitor",
  "level": {"part_v_rms": 0.2, "part_a_rms": 0.0001}, "trusted": true, "findings": ["hum"]}],
 "findings": [{"code": "hum", "severity": "note", "detail": "50 Hz", "advice": "none"}]}`, -1/(2*math.Pi*1000*farad), 1/(2*math.Pi*1000*farad), farad, u),
	}
}

// someResult is an entry of some other result.
func someResult(i int, json string) *Entry {
	return &Entry{Time: noon.Add(time.Duration(i) * time.Minute), Result: []byte(json)}
}

func add(t testing.TB, n *Notebook, entries ...*Entry) {
	t.Helper()
	for _, e := range entries {
		if added, err := n.Add(context.Background(), e); err != nil || !added {
			t.Fatalf("added %v, %v", added, err)
		}
	}
}

func listed(t testing.TB, n *Notebook, f Filter) []*Entry {
	t.Helper()
	list, err := n.List(context.Background(), f)
	if err != nil {
		t.Fatal(err)
	}
	return list
}
