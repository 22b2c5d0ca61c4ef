package main

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"
)

// lot is a run of capacitors of 100 nF, 5 %: 46 that are, and 4 that are not.
type lot struct {
	tray     string
	names    []string
	spread   float64 // standard deviation really drawn among those that are
	outliers []int   // numbers, from 1
}

func newLot(seed uint64) lot {
	rng := rand.New(rand.NewPCG(seed, 0x10a))
	var l lot
	var good []float64
	outliers := map[int]bool{}
	for len(outliers) < 4 {
		outliers[rng.IntN(50)] = true
	}
	for i := range 50 {
		value := 100e-9 * (1 + math.Max(-0.047, math.Min(0.018*rng.NormFloat64(), 0.047)))
		if outliers[i] {
			value = 100e-9 * []float64{0.5, 0.85, 1.12, 1.5}[len(l.outliers)]
			l.outliers = append(l.outliers, i+1)
		} else {
			good = append(good, value)
		}
		l.names = append(l.names, fmt.Sprintf("p%02d", i+1))
		l.tray += fmt.Sprintf("[[part]]\nname = %q\ncircuit = \"C %.9g + R 2\"\n", l.names[i], value)
	}
	mean := 0.0
	for _, v := range good {
		mean += v / float64(len(good))
	}
	for _, v := range good {
		l.spread += (v - mean) * (v - mean) / float64(len(good)-1)
	}
	l.spread = math.Sqrt(l.spread)
	l.tray += "[jig]\ncontact_spread = \"0.5m\"\nfixture_spread = \"0.02p\"\n[faults]\nlatency_frames = 100\nnoise = [\"4u\", \"4u\"]\ngain = [0, \"3m\"]\nbits = 24\n"
	return l
}

// sortedRun is what sort --json tells.
type sortedRun struct {
	Parts []struct {
		Number  int
		Name    string
		Verdict string
	}
	Spread   float64
	Outliers []int
}

// A run of fifty parts is killed again and again, at moments that nobody chose, and
// goes on each time: no part is lost or doubled, and what comes out is what was drawn.
func TestSortKilledAndResumed(t *testing.T) {
	l := newLot(7)
	dir := files(t, map[string]string{"jig.toml": quickJig, "tray.toml": l.tray})
	done(t, dir, "calibrate", "--jig", "jig.toml", "--at", "1k", "--load", "1k/0.1%", "--out", "cal.json")
	args := []string{"sort", "--jig", "jig.toml", "--calibration", "cal.json", "--at", "1k", "--expect", "100nJ", "--bins", "1%,2%,5%", "--csv", "lot.csv", "--json"}
	for _, n := range l.names {
		args = append(args, "--part", n)
	}
	rng := rand.New(rand.NewPCG(uint64(time.Now().UnixNano()), 1))
	kills := 0
	for {
		cmd, out, talk := program(dir, args...)
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		timer := time.AfterFunc(time.Duration(100+rng.IntN(600))*time.Millisecond, func() { _ = cmd.Process.Kill() })
		if kills == 6 {
			timer.Stop()
		}
		status := ran(t, cmd)
		timer.Stop()
		if status < 0 || status > 4 { // killed
			kills++
			continue
		}
		if status != 4 { // the outliers do not pass
			t.Fatalf("exit status %d: %s", status, talk)
		}
		checkLot(t, l, out.String())
		break
	}
	if kills == 0 {
		t.Log("the run ended before the first kill")
	}
}

func checkLot(t *testing.T, l lot, text string) {
	t.Helper()
	var run sortedRun
	if err := json.Unmarshal([]byte(text), &run); err != nil {
		t.Fatalf("%v: %s", err, text)
	}
	if len(run.Parts) != len(l.names) {
		t.Fatalf("%d parts, want %d", len(run.Parts), len(l.names))
	}
	for i, p := range run.Parts {
		if p.Number != i+1 || p.Name != l.names[i] {
			t.Errorf("place %d has part %d, %s", i+1, p.Number, p.Name)
		}
		if bad := slices.Contains(l.outliers, p.Number); (p.Verdict == "fail") != bad {
			t.Errorf("part %d: %s, an outlier: %v", p.Number, p.Verdict, bad)
		}
	}
	if !slices.Equal(run.Outliers, l.outliers) {
		t.Errorf("outliers %v, want %v", run.Outliers, l.outliers)
	}
	if off := run.Spread/l.spread - 1; math.Abs(off) > 0.05 {
		t.Errorf("spread %.4g, drawn %.4g: off by %.1f %%", run.Spread, l.spread, 100*off)
	}
}

// Recordings may stand for parts.
func TestSortRecordings(t *testing.T) {
	dir := files(t, map[string]string{"jig.toml": quickJig, "tray.toml": quickTray})
	done(t, dir, "calibrate", "--jig", "jig.toml", "--at", "1k", "--load", "1k/0.1%", "--out", "cal.json")
	for range 3 {
		done(t, dir, "measure", "--jig", "jig.toml", "--calibration", "cal.json", "--at", "1k", "--part", "film", "--keep", "kept")
	}
	args := []string{"sort", "--jig", "jig.toml", "--calibration", "cal.json", "--at", "1k", "--expect", "100nJ", "--csv", "three.csv"}
	for i := range 3 {
		args = append(args, "--recording", fmt.Sprintf("kept/part-film-%d.wav", i+1))
	}
	for range 2 { // the second run finds everything there
		out, _ := done(t, dir, args...)
		if !strings.Contains(out, "3 parts for 100nJ: 3 passed, 0 failed, 0 undecided") {
			t.Errorf("%s", out)
		}
	}
}
