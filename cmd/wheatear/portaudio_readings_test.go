//go:build portaudio && cgo && linux

package main

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"example.org/wheatear/audio/portaudio/servertest"
)

// What the readings of all runs together have to reach.
const (
	mostErrorU = 3.5  // standard uncertainties: of 300 normal errors 0.14 are beyond
	leastHeld  = 0.90 // of 95 % intervals, over many runs
	leastOfOne = 0.70 // in a single run: one load and one contact err for several readings at once
	readingsAt = "100,1k,10k"
)

// testReadings calibrates and measures parts over six decades of impedance, with
// the faults of jig and card drawn for the run.
func (p *tagged) testReadings(t *testing.T) {
	runs := 1
	if *soak {
		runs = 10
	}
	s := servertest.Pulse(t, servertest.PulseOptions{})
	var all []axisScore
	for seed := range uint64(runs) {
		began := time.Now()
		some := p.oneRun(t, s, seed+1)
		t.Logf("run %d, %.0f s\n%s", seed+1, time.Since(began).Seconds(), scoreTable(some))
		all = append(all, some...)
	}
	least := leastHeld
	if runs == 1 {
		least = leastOfOne
	}
	judgeScores(t, all, least)
}

func judgeScores(t *testing.T, all []axisScore, least float64) {
	t.Helper()
	held, worst := 0, 0.0
	for _, s := range all {
		if s.holds() {
			held++
		}
		worst = math.Max(worst, s.errorU())
		if !(s.errorU() <= mostErrorU) {
			t.Errorf("%s: %g ± %g ohm, truth %g: %.1f standard uncertainties off", s.name, s.value, s.u, s.truth, s.errorU())
		}
	}
	share := float64(held) / float64(len(all))
	t.Logf("%d of %d intervals hold the truth (%.1f %%); the worst error is %.2f standard uncertainties", held, len(all), 100*share, worst)
	if !(share >= least) {
		t.Errorf("%.1f %% of the intervals hold the truth, want %.0f %%", 100*share, 100*least)
	}
}

// oneRun is a bench with faults of its own.
func (p *tagged) oneRun(t *testing.T, s *servertest.PulseServer, seed uint64) []axisScore {
	t.Helper()
	d := draw(seed, s.Device)
	b := p.newJigBench(t, s, seed, d.jig, d.tray)
	b.calibrate(readingsAt, drawnLoad)
	var out []axisScore
	for _, part := range d.parts {
		b.insert(part.name)
		r := b.run(t, b.measureLine(readingsAt)+" --json")
		r.wants(0)
		var doc measured
		if err := json.Unmarshal(r.out.Bytes(), &doc); err != nil || len(doc.Readings) != 3 {
			t.Fatalf("%s: %v: %s", part.name, err, r.out.String())
		}
		for _, reading := range doc.Readings {
			out = append(out, part.score(reading)...)
		}
	}
	b.jig.Stop()
	return out
}

// axisScore is one axis of an impedance beside its truth.
type axisScore struct {
	name                       string
	value, u, low, high, truth float64
}

func (s axisScore) holds() bool     { return s.truth >= s.low && s.truth <= s.high }
func (s axisScore) errorU() float64 { return math.Abs(s.value-s.truth) / s.u }

func scoreTable(list []axisScore) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%-22s %12s %12s %11s %8s  %s\n", "reading", "value", "truth", "u", "error/u", "inside")
	for _, s := range list {
		fmt.Fprintf(&b, "%-22s %12.6g %12.6g %11.2g %8.2f  %t\n", s.name, s.value, s.truth, s.u, s.errorU(), s.holds())
	}
	return b.String()
}

// bulk is a part of which the truth is known: a resistor and a capacitor of which
// one may be missing (0), in series or side by side, behind an inductor.
type bulk struct {
	name              string
	ohm, farad, henry float64
	beside            bool
}

// circuit is what the tray calls it.
func (p bulk) circuit() string {
	join := " + "
	if p.beside {
		join = " // "
	}
	return fmt.Sprintf("(R %g%sC %g) + L %g", p.ohm, join, p.farad, p.henry)
}

// impedance is the truth.
func (p bulk) impedance(freqHz float64) complex128 {
	w := 2 * math.Pi * freqHz
	z := complex(p.ohm, -1/(w*p.farad))
	if p.beside {
		z = 1 / complex(1/p.ohm, w*p.farad)
	}
	return z + complex(0, w*p.henry)
}

// score holds a reading against the truth.
func (p bulk) score(r reading) []axisScore {
	z := p.impedance(r.Nominal)
	name := fmt.Sprintf("%s at %g Hz", p.name, r.Nominal)
	return []axisScore{scoreAxis(name+", Re", r.Z.Re, real(z)), scoreAxis(name+", Im", r.Z.Im, imag(z))}
}

// scoreAxis is NaN throughout where the reading has no figures.
func scoreAxis(name string, q *quantity, truth float64) axisScore {
	s := axisScore{name, math.NaN(), math.NaN(), math.NaN(), math.NaN(), truth}
	if q != nil && q.Value != nil && q.U != nil {
		s.value, s.u = *q.Value, *q.U
		s.low, s.high = bound(q.Low, math.Inf(-1)), bound(q.High, math.Inf(1))
	}
	return s
}
