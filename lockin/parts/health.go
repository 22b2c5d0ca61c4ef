package parts

import (
	"fmt"
	"math"
)

// NewElectrolytic is an aluminium electrolytic capacitor as it was bought.
type NewElectrolytic struct {
	Farad  float64
	RatedV float64 // 0 where unknown
}

// LikelyElectrolytic reports whether a capacitor of this value and dissipation factor, as
// read at some frequency, is likely an electrolytic: 10 µF or more, or 0.68 µF with a D
// above 0.03. Common practice, no source.
func LikelyElectrolytic(farad, d float64) bool {
	const surely, perhaps, lossy = 10e-6, 0.68e-6, 0.03
	return farad >= surely || farad >= perhaps && d > lossy
}

// largestD is the loss at 100 or 120 Hz up to which new electrolytics are good, by
// their rated voltage. Common practice of the trade, from memory; what a maker
// states for a series comes before it.
var largestD = []struct{ ratedV, d float64 }{
	{6.3, 0.28}, {10, 0.24}, {16, 0.20}, {25, 0.16}, {35, 0.14}, {50, 0.12}, {100, 0.10}, {math.Inf(1), 0.20},
}

// Limits of wear: common practice, from memory. Makers call a part worn out when it
// has lost a fifth of its capacitance or its loss has doubled.
const (
	wornC     = 0.8
	wornD     = 2.0
	unratedD  = 0.28 // where the rated voltage is not known, that of the lowest
	stepFarad = 1000e-6
	stepD     = 0.02 // more for each 1000 µF beyond the first
)

// LimitD is the largest loss of a new part at 100 or 120 Hz.
func (e NewElectrolytic) LimitD() float64 {
	d := unratedD
	if e.RatedV > 0 {
		for _, row := range largestD {
			if e.RatedV <= row.ratedV {
				d = row.d
				break
			}
		}
	}
	return d + stepD*math.Max(0, math.Ceil(e.Farad/stepFarad-1-1e-9))
}

// TypicalESR is the series resistance of a sound general-purpose part from a few
// kilohertz up, in ohm, within a factor of two or so: 0.2 Ω for 100 µF, and less for
// more capacitance. Common practice, from memory.
func (e NewElectrolytic) TypicalESR() float64 {
	return 0.2 * math.Pow(100e-6/e.Farad, 0.7)
}

// sound is how many times TypicalESR a new part has at most.
const sound = 1.5

// LimitESR is the series resistance that LimitD stands for at a frequency, in ohm: more
// than any new part has. Above 120 Hz it only falls.
func (e NewElectrolytic) LimitESR(freqHz float64) float64 {
	return e.LimitD() / (2 * math.Pi * math.Min(freqHz, 120) * e.Farad)
}

// Sign is one thing that tells whether a part is worn.
type Sign struct {
	What    string  // capacitance, dissipation factor at 120 Hz, series resistance (ESR)
	Value   float64 // measured, with U
	U       float64
	Good    Limits // of a new part
	Worn    Limits // of one that is not worn out yet
	Unit    string
	Outcome Health
	Basis   string
}

// Health of a part.
type Health string

// The healths. Ageing is no longer as new, and not worn out yet. Unclear is where
// the uncertainty leaves it open.
const (
	AsNew   Health = "as new"
	Ageing  Health = "ageing"
	WornOut Health = "worn out"
	Unclear Health = "unclear"
)

// Capacitance judges C at 100 or 120 Hz. tolerance is that of the marking; 0 means
// 20 %.
func (e NewElectrolytic) Capacitance(farad, u, tolerance float64) Sign {
	if tolerance == 0 {
		tolerance = 0.2
	}
	return Sign{What: "capacitance", Value: farad, U: u, Unit: "F", Good: AtLeast(e.Farad * (1 - tolerance)), Worn: AtLeast(e.Farad * (1 - tolerance) * wornC),
		Basis: fmt.Sprintf("new: within %.0f %% of the marking; worn out: a fifth less [common practice, from memory]", 100*tolerance)}.judged()
}

// Loss judges D at 100 or 120 Hz.
func (e NewElectrolytic) Loss(d, u float64) Sign {
	limit := e.LimitD()
	return Sign{What: "dissipation factor at 120 Hz", Value: d, U: u, Good: AtMost(limit), Worn: AtMost(wornD * limit),
		Basis: "new: usual largest tan δ for the rated voltage; worn out: twice that [common practice, from memory]"}.judged()
}

// Resistance judges the ESR above a few kilohertz, or that of an equivalent circuit. The
// limit of new parts is far below what their largest tan δ at 120 Hz allows, which is
// where a part is worn out.
func (e NewElectrolytic) Resistance(ohm, u float64) Sign {
	typical := e.TypicalESR()
	return Sign{What: "series resistance (ESR)", Value: ohm, U: u, Unit: "Ω", Good: AtMost(sound * typical), Worn: AtMost(math.Max(e.LimitESR(120), 2*sound*typical)),
		Basis: fmt.Sprintf("new: typically %s or less; worn out: more than the largest tan δ allows at 120 Hz [common practice, from memory]", Words(round2(typical), Ohm))}.judged()
}

// round2 keeps two digits.
func round2(v float64) float64 {
	scale := math.Pow(10, math.Floor(math.Log10(v))-1)
	return math.Round(v/scale) * scale
}

// judged decides by probability, 95 % either way.
func (s Sign) judged() Sign {
	s.Outcome = Unclear
	good, err := Judge(s.Value, s.U, nil, s.Good, Rule{})
	if err != nil {
		return s
	}
	worn, err := Judge(s.Value, s.U, nil, s.Worn, Rule{})
	switch {
	case err != nil:
	case good.Outcome == Pass:
		s.Outcome = AsNew
	case worn.Outcome == Fail:
		s.Outcome = WornOut
	case good.Outcome == Fail && worn.Outcome == Pass:
		s.Outcome = Ageing
	}
	return s
}
