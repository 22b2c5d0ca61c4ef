package jigcheck

import (
	"fmt"
	"math"

	"example.org/wheatear/lockin/fixture"
)

// checkParts reads known parts through a calibration with the standards of this
// examination, and compares:
//
//	En = |z - value| / √(U² + U(value)²)
//
// with U of 95 %; above 1 they do not agree. Reference: ISO/IEC 17043:2010, B.3.1.3.
func (x *exam) checkParts() {
	records := x.of(Check)
	if len(records) == 0 {
		x.note("Whether readings hold what they promise was not tried: the step check would tell, with a known part.")
		return
	}
	freqs := sorted(x.common(records[0]))
	var standards []fixture.Observation
	for step, role := range map[Step]fixture.Role{Open: fixture.Open, Short: fixture.Short, Load: fixture.LoadRole} {
		for _, r := range x.of(step) {
			standards = append(standards, fixture.Observation{Role: role, Load: loadFor(role, r), File: r.File, Analysis: r.Analysis, Played: r.Played})
		}
	}
	if len(freqs) == 0 || len(standards) == 0 {
		x.note("The check part was not judged: there are no standards to read it by.")
		return
	}
	cal, err := fixture.Calibrate(x.Jig, standards, freqs, fixture.About{})
	if err != nil {
		x.note("The check part was not judged: the standards of this examination make no calibration.")
		return
	}
	for _, r := range records {
		x.checkPart(cal, r, nearest(freqs, 1000))
	}
}

func loadFor(role fixture.Role, r *Recording) *fixture.Load {
	if role == fixture.LoadRole {
		return r.Load
	}
	return nil
}

// common lists the tones of a recording that the standards have, too.
func (x *exam) common(r *Recording) []float64 {
	var out []float64
	for _, f := range x.freqs {
		if _, ok := r.at(f); ok {
			out = append(out, f)
		}
	}
	return out
}

func (x *exam) checkPart(cal *fixture.Calibration, r *Recording, f float64) {
	o := fixture.Observation{Role: fixture.PartRole, File: r.File, Analysis: r.Analysis, Played: r.Played}
	c, err := fixture.Measure(x.Jig, cal, []fixture.Observation{o}, f, fixture.Options{})
	if err != nil || !c.Trusted || math.IsNaN(c.Reading.Re.Value) {
		x.note("The check part of %s could not be read.", r.Load)
		return
	}
	read := c.Reading.Re
	expanded := (read.High - read.Low) / 2
	own := r.Load.Ohm * r.Load.Tolerance // rectangular: its half-width covers all
	miss := read.Value - r.Load.Ohm
	en := math.Abs(miss) / math.Hypot(expanded, own)
	x.figure("check", fmt.Sprintf("a resistor of %s reads as", r.Load), 0, f, read, "Ω")
	x.figure("check", "|En|", 0, f, quantity{Value: en, Low: en, High: en}, "")
	// The same part says nothing where the signal itself is spoilt.
	if en > 1 && !x.auto {
		percent := 100 * miss / r.Load.Ohm
		x.fault(Fault{Code: CheckPart, FreqHz: f, Value: quantity{Value: percent, U: 100 * read.U / r.Load.Ohm, Low: 100 * (read.Low/r.Load.Ohm - 1), High: 100 * (read.High/r.Load.Ohm - 1)},
			Unit: "%", Limit: 100 * math.Hypot(expanded, own) / r.Load.Ohm,
			Detail: fmt.Sprintf("a resistor of %s reads as %s, %+.3g %% off: |En| = %.2g, 1 is the most", r.Load, si(read.Value, "Ω"), percent, en),
			Advice: "check this part and the load with another meter; one of them is not what it claims, or the jig changed meanwhile"})
	}
}
