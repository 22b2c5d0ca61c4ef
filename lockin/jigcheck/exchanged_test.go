package jigcheck

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"example.org/wheatear/lockin/finding"
)

// pairsOfChannels are wirings in which an exchange of the inputs can be seen.
var pairsOfChannels = [][2]string{{"total", "part"}, {"total", "reference"}, {"part", "reference"}, {"part", "total"}, {"reference", "part"}}

// Exchanged inputs are named, alone, whatever the wiring and wherever they are
// exchanged; all else is told of the inputs put right.
func TestExchangedInputs(t *testing.T) {
	for _, pair := range pairsOfChannels {
		for _, where := range []string{"in the card", "at the plugs"} {
			d := newDesk(pair[0], pair[1])
			d.gain, d.delay = 1.02, 0.2
			var list []Recording
			for _, r := range d.all() {
				r = r.exchanged()
				if where == "at the plugs" { // and the plug of the input by its number at the card
					r = otherPlug(r)
				}
				list = append(list, r)
			}
			r := examine(t, Evidence{Jig: d.jig(t, ""), Recordings: list})
			t.Run(fmt.Sprint(pair, " ", where), func(t *testing.T) {
				only(t, r, finding.Swapped)
				f := fault(r, finding.Swapped)
				if f.Severity != finding.Invalid || !strings.Contains(f.Detail, "input 1 hears what the jig file calls "+pair[1]) || !strings.Contains(f.Advice, "inputs = [2, 1]") {
					t.Errorf("named as %+v", f)
				}
				// As measured without the exchange; noise is 1e-8 of half of full scale.
				if g := r.Figure("inputs", "gain 2/1 less 1", 0); g == nil || math.Abs(g.Value.Value-0.02) > 1e-5 {
					t.Errorf("gain of the inputs put right: %+v", g)
				}
			})
		}
	}
}

// Sound inputs, a part of another kind in place of a standard, and a wrong plug are no
// exchanged inputs.
func TestNotExchanged(t *testing.T) {
	for _, pair := range pairsOfChannels {
		d := newDesk(pair[0], pair[1])
		jig := d.jig(t, "")
		if r := examine(t, Evidence{Jig: jig, Recordings: d.all()}); r.Has(finding.Swapped) {
			t.Errorf("%v: sound inputs are called exchanged", pair)
		}
		var list []Recording
		for _, r := range d.all() {
			list = append(list, otherPlug(r))
		}
		r := examine(t, Evidence{Jig: jig, Recordings: list})
		only(t, r)
		if !strings.Contains(strings.Join(r.Notes, " "), "the two steps were taken for each other") {
			t.Errorf("%v: the wrong plug is not told: %v", pair, r.Notes)
		}
		open := d.record(Short, complex(math.Inf(1), 0)) // one left out is no proof
		if r := examine(t, Evidence{Jig: jig, Recordings: []Recording{open}}); r.Has(finding.Swapped) {
			t.Errorf("%v: an open in the place of a short is called exchanged inputs", pair)
		}
	}
	d := newDesk()
	plugs := []Recording{otherPlug(d.record(Terminated1, 1000)), otherPlug(d.record(Terminated2, 1000))}
	r := examine(t, Evidence{Jig: d.jig(t, ""), Recordings: plugs})
	only(t, r)
	if !strings.Contains(strings.Join(r.Notes, " "), "open, short and load would tell") {
		t.Errorf("plugs alone: %v", r.Notes)
	}
}

// One signal in both inputs is named, and nothing that follows from it.
func TestOneSignal(t *testing.T) {
	d := newDesk()
	var list []Recording
	for _, r := range d.all() {
		for i := range r.Analysis.Tones {
			r.Analysis.Tones[i].Phasors[1] = r.Analysis.Tones[i].Phasors[0]
		}
		r.Analysis.Findings = []finding.Finding{{Code: finding.Mono, Severity: finding.Invalid}}
		list = append(list, r)
	}
	r := examine(t, Evidence{Jig: d.jig(t, ""), Recordings: list})
	only(t, r, finding.Mono)
	if f := fault(r, finding.Mono); f.Value.Value != 4 || !strings.Contains(f.Detail, "in 4 of the 4 recordings") {
		t.Errorf("named as %+v", f)
	}
	list = d.all()
	list[0].Analysis.Findings = []finding.Finding{{Code: finding.Mono, Severity: finding.Invalid}}
	if r := examine(t, Evidence{Jig: d.jig(t, ""), Recordings: list}); r.Has(finding.Mono) || len(r.Findings) != 1 {
		t.Errorf("one record of four: %+v, %v", r.Faults, r.Findings)
	}
}

// Peaks that are flat at the level of measurements are a fault, louder ones a figure.
func TestOverdriven(t *testing.T) {
	for _, c := range []struct {
		peak  float64
		codes []finding.Code
	}{{0.5, []finding.Code{finding.Clipped}}, {0.2, nil}, {0, nil}} {
		list := ladder(func(ch int, p float64) (float64, float64) { return math.Min(0.8, 2.2*p), 0 })
		r := examine(t, Evidence{Jig: newDesk().jig(t, ""), Recordings: list, Peak: c.peak})
		only(t, r, c.codes...)
		// The lowest level of the ladder above 0.8/2.2.
		if f := fault(r, finding.Clipped); c.codes != nil && math.Abs(f.Value.Value+8) > 1e-9 {
			t.Errorf("flat from %+v", f.Value)
		}
	}
}

// Hum of a twentieth of full scale is a fault by itself, with no earlier verification.
func TestStrongHum(t *testing.T) {
	jig := newDesk().jig(t, "")
	r := examine(t, Evidence{Jig: jig, Recordings: []Recording{quiet(1, [2]float64{1e-5, 1e-5}, 50.02, 0.05)}})
	only(t, r, finding.Hum)
	// A peak of 0.05 is -29.03 dBFS rms on the scale where a full-scale square is 0.
	if f := fault(r, finding.Hum); math.Abs(f.Value.Value+29.03) > 0.05 || f.Limit > -50 {
		t.Errorf("hum of %+v against %g", f.Value, f.Limit)
	}
	quieter := &Verified{Date: "2026-01-01T00:00:00Z", NoiseRMS: [2]float64{1e-6, 1e-6}, NoiseU: [2]float64{1e-8, 1e-8}}
	r = examine(t, Evidence{Jig: jig, Earlier: quieter, Recordings: []Recording{quiet(1, [2]float64{1e-5, 1e-5}, 50.02, 0.05)}})
	only(t, r, finding.Hum) // what is left of it is no noise of its own
	was := &Verified{Date: "2026-01-01T00:00:00Z", HumRMS: [2]float64{1e-4, 1e-4}, HumU: [2]float64{1e-6, 1e-6}}
	r = examine(t, Evidence{Jig: jig, Earlier: was, Recordings: []Recording{quiet(1, [2]float64{1e-5, 1e-5}, 50.02, 1e-3)}})
	if n := len(r.Faults); n != 2 || r.Faults[0].Channel == r.Faults[1].Channel {
		t.Errorf("hum that has risen in both inputs: %+v", r.Faults)
	}
}
