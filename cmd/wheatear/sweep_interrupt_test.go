package main

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"example.org/wheatear/lockin/uncertain"
)

// A quick jig: short records at a low rate, for sweeps of many points.
const (
	quickJig = `name = "quick bench"
channels = ["total", "part"]
reference = "1k"
reference_tolerance = "0.1%"
mains = 50
[card]
backend = "virtual"
rate = 8000
seconds = 0.2
[virtual]
tray = "tray.toml"
`
	quickTray = `[[part]]
name = "film"
circuit = "C 100n + R 2"
[faults]
latency_frames = 100
noise = ["4u", "4u"]
gain = [0, "3m"]
bits = 24
`
)

// swept is what sweep --json tells, as far as these tests look at it.
type swept struct {
	Asked    int `json:"points_asked"`
	Readings []sweptReading
}

type sweptReading struct {
	NominalHz float64 `json:"frequency_nominal_hz"`
	Z         struct {
		Re uncertain.Quantity `json:"re_ohm"`
		Im uncertain.Quantity `json:"im_ohm"`
	}
	Trusted bool
}

func sweptOf(t *testing.T, text string) swept {
	t.Helper()
	var s swept
	if err := json.Unmarshal([]byte(text), &s); err != nil {
		t.Fatalf("%v: %s", err, text)
	}
	return s
}

// A real interrupt in the middle of a sweep of 100 points, or 200, loses none that is
// finished, and what --resume makes of it is what one without a pause gives.
func TestInterruptedSweep(t *testing.T) {
	t.Parallel()
	points := 100
	if *soak {
		points = 200
	}
	dir := files(t, map[string]string{"jig.toml": quickJig, "tray.toml": quickTray})
	done(t, dir, "calibrate", "--jig", "jig.toml", "--at", "300..2k/9", "--out", "cal.json")
	args := strings.Fields(fmt.Sprintf("sweep --jig jig.toml --calibration cal.json --at 300..2k/%d --part film --json", points))

	cut, cutOut, cutTalk := program(dir, args...)
	if err := cut.Start(); err != nil {
		t.Fatal(err)
	}
	state := filepath.Join(dir, "sweep-unfinished.json")
	finished := waitForPoints(t, state, points/3)
	if err := cut.Process.Signal(os.Interrupt); err != nil {
		t.Fatal(err)
	}
	if status := ran(t, cut); status != 1 || !strings.Contains(cutTalk.String(), "--resume sweep-unfinished.json") {
		t.Errorf("interrupted: exit status %d, want 1 and how to go on: %s", status, cutTalk)
	}
	first := sweptOf(t, cutOut.String())
	if n := len(first.Readings); n < finished || n >= points || first.Asked != points {
		t.Fatalf("%d of %d points reported, after %d were seen finished", n, first.Asked, finished)
	}

	resumed, _ := done(t, dir, "sweep", "--resume", "sweep-unfinished.json", "--json")
	if _, err := os.Stat(state); err == nil {
		t.Error("the sweep is complete, and its file is still there")
	}
	all := sweptOf(t, resumed)
	if len(all.Readings) != points {
		t.Fatalf("%d points after going on, want %d", len(all.Readings), points)
	}
	for i, r := range first.Readings {
		if all.Readings[i] != r {
			t.Errorf("point %d was %+v, and is %+v after going on", i, r, all.Readings[i])
		}
	}
	const every = 5 // points are enough to compare
	var at []string
	var some []sweptReading
	for i := every / 2; i < points; i += every {
		at = append(at, strconv.FormatFloat(all.Readings[i].NominalHz, 'f', -1, 64))
		some = append(some, all.Readings[i])
	}
	args[6] = strings.Join(at, ",")
	whole, _ := done(t, dir, args...)
	compareReadings(t, some, sweptOf(t, whole).Readings)
}

// waitForPoints waits until a sweep has finished some points and returns how many.
func waitForPoints(t *testing.T, file string, least int) int {
	t.Helper()
	for range 6000 {
		time.Sleep(10 * time.Millisecond)
		text, err := os.ReadFile(file)
		if err != nil {
			continue // not there yet
		}
		var state struct{ Points []json.RawMessage }
		if err := json.Unmarshal(text, &state); err != nil {
			t.Fatalf("a reader finds half a file: %v", err)
		}
		if len(state.Points) >= least {
			return len(state.Points)
		}
	}
	t.Fatalf("%s does not get %d points", file, least)
	return 0
}

// compareReadings wants readings of one part to differ by no more than 4 standard
// uncertainties of the difference: noise exceeds that once in 16 000 times, and
// here are 40 figures. What is common to both, such as the load, does not show.
func compareReadings(t *testing.T, got, want []sweptReading) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%d points, want %d", len(got), len(want))
	}
	for i, g := range got {
		w := want[i]
		if g.NominalHz != w.NominalHz || !g.Trusted || !w.Trusted {
			t.Errorf("point %d: %g Hz, trusted %t; uninterrupted %g Hz, trusted %t", i, g.NominalHz, g.Trusted, w.NominalHz, w.Trusted)
		}
		for _, q := range [][2]uncertain.Quantity{{g.Z.Re, w.Z.Re}, {g.Z.Im, w.Z.Im}} {
			if u := math.Hypot(q[0].U, q[1].U); math.Abs(q[0].Value-q[1].Value) > 4*u {
				t.Errorf("point %d at %g Hz: %g ohm, uninterrupted %g ohm, u %g", i, g.NominalHz, q[0].Value, q[1].Value, u)
			}
		}
	}
}
