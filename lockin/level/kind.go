package level

import (
	"fmt"
	"math"
	"math/cmplx"
	"strings"

	"example.org/wheatear/lockin/fixture"
)

// Kind is what depends on level in this way.
type Kind string

// The kinds, in words of the trade.
const (
	Linear    Kind = "linear"           // nothing seen
	Junction  Kind = "junction"         // semiconductor that begins to conduct
	Ceramic   Kind = "class-2 ceramic"  // or another dielectric whose charge is no straight line
	Core      Kind = "iron core"        // or ferrite: inductance depends on flux
	Biased    Kind = "biased capacitor" // its charge is no straight line, and not alike for both signs
	Slow      Kind = "slow"             // changes without distorting: heat, or the gain of the card
	Undecided Kind = "undecided"
)

// Confidence in a kind.
type Confidence string

// High: change and harmonics agree. Medium: one of them is seen. Low: they do not
// fit together.
const (
	High   Confidence = "high"
	Medium Confidence = "medium"
	Low    Confidence = "low"
)

// What counts as seen.
const (
	sureChange   = 4    // standard uncertainties of a change over the levels
	sureHarmonic = 5    // standard uncertainties of a harmonic
	leastEffect  = 1e-4 // changes and harmonics below are of no kind: cards do as much
	clearly      = 2    // times more than the other: clear
	cubicPart    = 3    // a cubic law changes the fundamental by three times its third harmonic
	heatPart     = 10   // a third harmonic this far below the change is no law of the moment
)

// evidence is what the points show between the lowest and the highest level.
type evidence struct {
	inductive        bool
	change           complex128 // of Y times Z for capacitors and resistors, of Z over Z for inductors
	changeU          float64
	even, odd        float64 // largest significant harmonics at the top
	evenAt, oddAt    int
	changed, distort bool
}

func gather(points []Point) evidence {
	low, top := points[0], points[len(points)-1]
	z0, z1 := low.ohm(), top.ohm()
	e := evidence{inductive: imag(z0) > math.Abs(real(z0))/2}
	u := func(p Point) float64 { return math.Hypot(p.NoiseU[0], p.NoiseU[1]) / cmplx.Abs(p.ohm()) }
	e.changeU = math.Hypot(u(low), u(top)) / math.Sqrt2
	if e.inductive {
		e.change = (z1 - z0) / complex(0, imag(z0))
	} else {
		// In units of |Y|: real for conductance, imaginary for susceptance.
		e.change = (1/z1 - 1/z0) * complex(cmplx.Abs(z0), 0)
	}
	for _, h := range top.Harmonics {
		size := cmplx.Abs(h.Relative)
		if size < sureHarmonic*h.U || size < leastEffect {
			continue
		}
		if h.Order%2 == 0 && size > e.even {
			e.even, e.evenAt = size, h.Order
		}
		if h.Order%2 == 1 && size > e.odd {
			e.odd, e.oddAt = size, h.Order
		}
	}
	e.changed = cmplx.Abs(e.change) > math.Max(sureChange*e.changeU, leastEffect)
	e.distort = e.even > 0 || e.odd > 0
	return e
}

// judge names the kind.
func (e evidence) judge() (Kind, Confidence) {
	re, im := real(e.change), imag(e.change)
	share := cmplx.Abs(e.change) / (1 + cmplx.Abs(e.change)) // of the whole that is not linear
	switch {
	case !e.changed && !e.distort:
		return Linear, High
	case !e.changed:
		return e.fromHarmonics(), Medium
	case math.Max(e.even, e.odd) < share/cubicPart/heatPart:
		return Slow, e.slowConfidence()
	case e.inductive && e.odd > clearly*e.even && math.Abs(re) > math.Abs(im)/clearly:
		return Core, High // iron changes its loss as well
	case e.inductive && e.odd > e.even:
		return Core, Medium
	case !e.inductive && re > clearly*math.Abs(im):
		return Junction, High
	case !e.inductive && math.Abs(im) > clearly*math.Abs(re) && e.odd > clearly*e.even:
		return Ceramic, High
	case !e.inductive && math.Abs(im) > clearly*math.Abs(re) && e.even > 0:
		return Biased, Medium
	case !e.inductive && re > 0 && e.even > e.odd:
		return Junction, Medium
	}
	return Undecided, Low
}

// fromHarmonics is what harmonics alone suggest: the fundamental changes only in
// the next order of the level.
func (e evidence) fromHarmonics() Kind {
	switch {
	case e.inductive && e.odd > e.even:
		return Core
	case e.even > e.odd:
		return Junction
	}
	return Undecided
}

func (e evidence) slowConfidence() Confidence {
	if e.distort {
		return Low
	}
	return Medium
}

// reasons says in sentences why, with figures.
func (e evidence) reasons(kind Kind) []string {
	var out []string
	what := "admittance"
	if e.inductive {
		what = "reactance"
	}
	if e.changed {
		out = append(out, fmt.Sprintf("its %s changes by %s from the lowest to the highest level%s", what, e.size(), e.where()))
	} else {
		out = append(out, fmt.Sprintf("its %s does not change by more than %.1g %%", what, 100*math.Max(sureChange*e.changeU, leastEffect)))
	}
	var seen []string
	if e.even > 0 {
		seen = append(seen, fmt.Sprintf("harmonic %d at −%.0f dB", e.evenAt, -20*math.Log10(e.even)))
	}
	if e.odd > 0 {
		seen = append(seen, fmt.Sprintf("harmonic %d at −%.0f dB", e.oddAt, -20*math.Log10(e.odd)))
	}
	if len(seen) > 0 {
		rises := " rises"
		if len(seen) > 1 {
			rises = " rise"
		}
		out = append(out, strings.Join(seen, " and ")+rises+" in the part at the highest level, not in the source")
	} else {
		out = append(out, "no harmonic rises in the part")
	}
	return append(out, kind.meaning())
}

// size writes the change with no more digits than its uncertainty carries.
func (e evidence) size() string {
	change := cmplx.Abs(e.change)
	if change >= 1 {
		return fmt.Sprintf("a factor of %.2g", 1+change)
	}
	digits := max(0, int(math.Ceil(-math.Log10(200*e.changeU))))
	return fmt.Sprintf("%.*f %% (± %.1g %%)", min(digits, 4), 100*change, 200*e.changeU)
}

// where says in which part of the admittance the change lies.
func (e evidence) where() string {
	if e.inductive {
		return ""
	}
	if real(e.change) > clearly*math.Abs(imag(e.change)) {
		return ", as conductance"
	}
	if math.Abs(imag(e.change)) > clearly*math.Abs(real(e.change)) {
		return ", as susceptance"
	}
	return ""
}

// meaning is what a kind does, in a sentence.
func (k Kind) meaning() string {
	switch k {
	case Linear:
		return "a linear part reads alike at every level"
	case Junction:
		return "a junction conducts on the peaks: conductance rises with level, and harmonics with it"
	case Ceramic:
		return "a dielectric whose charge is no straight line, alike for both signs, changes C and gives odd harmonics: class-2 ceramics do"
	case Core:
		return "iron and ferrite change their inductance with flux, alike for both signs, which gives odd harmonics"
	case Biased:
		return "a capacitor that differs for the two signs gives even harmonics: a junction's own, or a ceramic under bias"
	case Slow:
		return "a law of the moment would distort; what changes without distorting is slow: heat in the part, or an automatic gain of the card (read a plain resistor in the same way to tell)"
	}
	return "change and harmonics fit no single kind: several parts together may do this"
}

// onset is the lowest level at which the part departs from what it is at the
// lowest: by a change or by harmonics. 0 where it never does.
func onset(points []Point) fixture.PartLevel {
	for i := 1; i < len(points); i++ {
		e := gather(points[:i+1])
		if e.changed || e.distort {
			return points[i].Level
		}
	}
	return fixture.PartLevel{}
}
