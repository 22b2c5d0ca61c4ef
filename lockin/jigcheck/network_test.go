package jigcheck

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/record"
)

// What the inputs do is found whatever it is, in every wiring, and nothing is named that
// is ordinary.
func TestOrdinaryJig(t *testing.T) {
	for _, channels := range [][2]string{{"total", "part"}, {"reference", "total"}, {"part", "reference"}} {
		d := newDesk(channels[0], channels[1])
		d.gain, d.delay, d.cross = 1.013, 0.21, [2]complex128{3e-5, -5e-5i}
		d.inputOhm = [2]float64{400e3, 500e3}
		r := examine(t, Evidence{Jig: d.jig(t, ""), Recordings: append(d.all(), d.other(10000))})
		only(t, r)
		for _, c := range []struct {
			topic, name string
			channel     int
			want, off   float64
		}{
			{"inputs", "delay of input 2", 0, 0.21, 1e-5},
			{"inputs", "gain 2/1 less 1", 0, 0.013, 1e-5}, // drift of 10 ppm is assumed
			{"inputs", "crosstalk", 1, 3e-5, 1e-6},
			{"inputs", "crosstalk", 2, 5e-5, 1e-6},
			{"reference", "resistance", 0, 1000, 0.3}, // 0.05 % of the loads
			{"source", "resistance", 0, 33, 0.1},
			{"short", "resistance left", 0, 0.05, 1e-3},
		} {
			f := r.Figure(c.topic, c.name, c.channel)
			if f == nil || !(math.Abs(f.Value.Value-c.want) < c.off) {
				t.Errorf("%v: %s, %s is %+v, want %g", channels, c.topic, c.name, f, c.want)
			}
		}
	}
}

func TestSkewNamesTheLateInput(t *testing.T) {
	for delay, late := range map[float64]int{0.5: 2, -0.5: 1} {
		d := newDesk()
		d.delay = delay
		r := examine(t, Evidence{Jig: d.jig(t, ""), Recordings: d.all()})
		only(t, r, Skew)
		if f := fault(r, Skew); f.Channel != late || math.Abs(f.Value.Value-delay) > 1e-3 || f.Unit != "samples" {
			t.Errorf("delay %g: %+v", delay, f)
		}
	}
}

// Crosstalk does not show as a wrong reference or a resistance of the short.
func TestCrosstalkAlone(t *testing.T) {
	d := newDesk()
	d.cross = [2]complex128{0, 1e-3}
	r := examine(t, Evidence{Jig: d.jig(t, ""), Recordings: d.all()})
	only(t, r, Crosstalk)
	if f := fault(r, Crosstalk); f.Channel != 2 || math.Abs(f.Value.Value+60) > 0.1 {
		t.Errorf("%+v", f)
	}
}

func TestGain(t *testing.T) {
	d := newDesk()
	d.gain = 1.2
	r := examine(t, Evidence{Jig: d.jig(t, ""), Recordings: d.all()})
	only(t, r, Gain)
	// full_scale that says the same is no fault.
	only(t, examine(t, Evidence{Jig: d.jig(t, "full_scale = [\"1.2V\", \"1V\"]\n"), Recordings: d.all()}))
}

// A wrong reference is told from an input that loads it where another reference was
// tried, and else it is said that this would tell.
func TestReferenceOrLoading(t *testing.T) {
	wrong, loaded := newDesk("total", "reference"), newDesk("total", "reference")
	wrong.refOhm = 950
	loaded.inputOhm[1] = 19e3 // 1 kΩ and 19 kΩ side by side are 950 Ω
	for _, c := range []struct {
		d    *desk
		code finding.Code
		size float64
	}{{wrong, WrongRef, -5}, {loaded, Loading, 19e3}} {
		both := examine(t, Evidence{Jig: c.d.jig(t, ""), Recordings: append(c.d.all(), c.d.other(10000))})
		only(t, both, c.code)
		if f := fault(both, c.code); math.Abs(f.Value.Value/c.size-1) > 0.02 {
			t.Errorf("%s: %+v", c.code, f)
		}
		alone := examine(t, Evidence{Jig: c.d.jig(t, ""), Recordings: c.d.all()})
		only(t, alone, Ambiguous)
		if f := fault(alone, Ambiguous); !strings.Contains(f.Detail, "step reference would tell") {
			t.Errorf("%s", f.Detail)
		}
	}
}

// Two known resistors tell the input across the part where there is no open, within what
// their tolerances leave.
func TestTwoLoads(t *testing.T) {
	for ohm, named := range map[float64]bool{20e3: true, 400e3: false} {
		d := newDesk()
		d.inputOhm[1] = ohm
		var list []Recording
		for _, rec := range d.all() {
			if rec.Step != Open {
				list = append(list, rec)
			}
		}
		more := d.record(Load, 10000)
		l := *list[0].Load
		l.Ohm = 10000
		more.Load = &l
		r := examine(t, Evidence{Jig: d.jig(t, ""), Recordings: append(list, more)})
		if r.Has(Loading) != named || r.Has(WrongRef) {
			t.Errorf("%g: %+v", ohm, r.Faults)
		}
		f := r.Figure("inputs", "resistance of input 2", 2)
		if f == nil || !(f.Value.Low < ohm && ohm < f.Value.High) {
			t.Errorf("%g: %+v", ohm, f)
		}
	}
}

// In the wiring with part the input across the part shows in the open; what the jig file
// states of it is no fault.
func TestPartInput(t *testing.T) {
	d := newDesk()
	d.inputOhm[1] = 100e3
	r := examine(t, Evidence{Jig: d.jig(t, ""), Recordings: d.all()})
	only(t, r, Loading)
	if f := fault(r, Loading); f.Channel != 2 || math.Abs(f.Value.Value/100e3-1) > 0.01 {
		t.Errorf("%+v", f)
	}
	only(t, examine(t, Evidence{Jig: d.jig(t, "input_resistance = \"100k\"\n"), Recordings: d.all()}))
	only(t, examine(t, Evidence{Jig: d.jig(t, "input_resistance = \"1M\"\n"), Recordings: d.all()}), Loading)
}

// The input right behind the source is found by what the other hears more of without it;
// crosstalk that goes with it is not taken for that.
func TestInputOnSource(t *testing.T) {
	for ohm, named := range map[float64]bool{60e3: true, 400e3: false} {
		for i, channels := range [][2]string{{"total", "part"}, {"reference", "total"}} {
			d := newDesk(channels[0], channels[1])
			d.cross = [2]complex128{1.5e-4, -1.5e-4}
			d.inputOhm = [2]float64{400e3, 400e3}
			d.inputOhm[i] = ohm
			list := append(d.all(), d.other(10000))
			for range 5 {
				rec := d.record(Drift, 1000)
				rec.AtS = float64(len(list))
				list = append(list, rec)
			}
			r := examine(t, Evidence{Jig: d.jig(t, ""), Recordings: list})
			if r.Has(Loading) != named {
				t.Errorf("%v, %g: %+v", channels, ohm, r.Faults)
			}
			f := r.Figure("inputs", fmt.Sprintf("resistance of input %d", i+1), i+1)
			if f == nil || math.Abs(f.Value.Value/ohm-1) > 0.1 {
				t.Errorf("%v, %g: %+v", channels, ohm, f)
			}
		}
	}
}

// Of two differential inputs it is told which takes more, if the levels stand; else both
// are named together.
func TestDifferentialInputs(t *testing.T) {
	for i := range 2 {
		d := newDesk("part", "reference")
		d.inputOhm = [2]float64{600e3, 600e3}
		d.inputOhm[i] = 70e3
		list := append(d.all(), d.other(10000))
		for range 5 {
			rec := d.record(Drift, 1000)
			rec.AtS = float64(len(list))
			list = append(list, rec)
		}
		r := examine(t, Evidence{Jig: d.jig(t, ""), Recordings: list})
		only(t, r, Loading)
		if f := fault(r, Loading); f.Channel != i+1 || math.Abs(f.Value.Value/70e3-1) > 0.05 {
			t.Errorf("input %d: %+v", i+1, f)
		}
	}
	d := newDesk("part", "reference")
	d.inputOhm = [2]float64{70e3, 600e3}
	var list []Recording
	for _, rec := range append(d.all(), d.other(10000)) {
		if rec.Step != Terminated2 {
			list = append(list, rec)
		}
	}
	r := examine(t, Evidence{Jig: d.jig(t, ""), Recordings: list})
	only(t, r, Loading)
	if f := fault(r, Loading); f.Channel != 0 || math.Abs(f.Value.Value/62.7e3-1) > 0.02 {
		t.Errorf("%+v", f)
	}
}

// Without both inputs on one node the gain of an input is as uncertain as the jig file
// says, so a reference 5 % off is named with what else it may be, and one 2 % off is not.
func TestReferenceWithoutJoined(t *testing.T) {
	for ohm, named := range map[float64]bool{1080: true, 1020: false} {
		d := newDesk()
		d.refOhm = ohm
		var list []Recording
		for _, r := range d.all() {
			if r.Step != Joined {
				list = append(list, r)
			}
		}
		r := examine(t, Evidence{Jig: d.jig(t, ""), Recordings: list})
		if r.Has(WrongRef) != named {
			t.Errorf("reference of %g: %+v", ohm, r.Faults)
		}
		if named && !strings.Contains(fault(r, WrongRef).Detail, "the step joined would tell") {
			t.Errorf("%s", fault(r, WrongRef).Detail)
		}
	}
}

// Two references off alike are not the fault of either.
func TestWrongLoad(t *testing.T) {
	d := newDesk()
	list := append(d.all(), d.other(10000))
	for i := range list {
		if list[i].Load != nil {
			l := *list[i].Load
			l.Ohm *= 1.03
			list[i].Load = &l
		}
	}
	r := examine(t, Evidence{Jig: d.jig(t, ""), Recordings: list})
	only(t, r, Ambiguous)
	if f := fault(r, Ambiguous); !strings.Contains(f.Detail, "the load is not what it claims") {
		t.Errorf("%s", f.Detail)
	}
}

// A known part that reads as another is named with |En| above 1, and one that is what it
// claims has less. Source: ISO/IEC 17043:2010, B.3.1.3: |En| ≤ 1 is satisfactory.
func TestCheckPart(t *testing.T) {
	for actual, named := range map[float64]bool{2200: false, 2250: true} {
		d := newDesk()
		c := d.record(Check, complex(actual, 0))
		l := *d.all()[0].Load
		l.Ohm = 2200
		c.Load = &l
		r := examine(t, Evidence{Jig: d.jig(t, ""), Recordings: append(d.all(), c)})
		en := r.Figure("check", "|En|", 0)
		if en == nil || (en.Value.Value > 1) != named || r.Has(CheckPart) != named {
			t.Errorf("a part of %g for 2200: En %+v, faults %+v, notes %v", actual, en, r.Faults, r.Notes)
		}
	}
}

func TestEvidenceRefused(t *testing.T) {
	d := newDesk()
	jig, good := d.jig(t, ""), d.all()
	load := d.record(Load, 1000)
	other := d.record(Reference, 1000)
	idle := Recording{Step: Idle, Signal: record.Signal{RateHz: 48000, Channels: [][]float64{make([]float64, 10), make([]float64, 10)}}}
	for name, e := range map[string]Evidence{
		"no jig": {Recordings: good}, "no recordings": {Jig: jig}, "no value": {Jig: jig, Recordings: []Recording{load}},
		"no other value": {Jig: jig, Recordings: []Recording{other}}, "short silence": {Jig: jig, Recordings: []Recording{idle}},
		"not analysed": {Jig: jig, Recordings: []Recording{{Step: Open}}}, "no step": {Jig: jig, Recordings: []Recording{{Step: "x"}}},
	} {
		if _, err := Examine(e); err == nil || !strings.HasPrefix(err.Error(), "jigcheck: ") {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// Any part of the evidence is examined without a panic, and what is missing is said.
func TestPartsOfTheEvidence(t *testing.T) {
	d := newDesk()
	all := append(d.all(), d.other(10000))
	for _, about := range Steps() {
		for _, without := range []bool{true, false} {
			var some []Recording
			for _, r := range all {
				if (r.Step == about.Step) != without {
					some = append(some, r)
				}
			}
			if len(some) == 0 {
				continue
			}
			r := examine(t, Evidence{Jig: d.jig(t, ""), Recordings: some})
			only(t, r)
			if len(r.Notes) == 0 || len(r.Looked) != len(Steps()) {
				t.Errorf("%s: notes %v, looked %v", about.Step, r.Notes, r.Looked)
			}
		}
	}
}
