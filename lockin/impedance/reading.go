package impedance

import (
	"math"

	"example.org/wheatear/lockin/uncertain"
)

// State says what kind of reading it is.
type State string

// The states a reading can be in.
const (
	OK       State = "ok"
	Open     State = "open"      // more than can be told from no admittance at all
	Short    State = "short"     // less than can be told from no impedance at all
	NoSignal State = "no-signal" // nothing was heard, so that nothing is known
)

// Equivalent is two elements in series or in parallel. A part that reads as
// capacitor has no L, and the other way round; where the sign is not known both
// have one bound each.
type Equivalent struct {
	R uncertain.Quantity // ohm; in series this is the ESR
	C uncertain.Quantity // farad
	L uncertain.Quantity // henry
}

// Admittance is Y = G + jB = 1/Z.
type Admittance struct {
	G, B    uncertain.Quantity // siemens
	Modulus uncertain.Quantity // siemens
}

// Reading is what one impedance at one frequency says of a part. Quantities that
// do not exist or cannot be trusted are absent.
type Reading struct {
	FreqHz      uncertain.Quantity
	State       State
	Re, Im      uncertain.Quantity // ohm
	Correlation float64            // [1] of Re and Im; NaN where one of them is exact or absent
	Modulus     uncertain.Quantity // ohm
	Phase       uncertain.Quantity // rad; an interval may reach beyond ±π rather than jump
	Y           Admittance
	Series      Equivalent
	Parallel    Equivalent
	Q, D        uncertain.Quantity // [1] quality factor and dissipation factor (loss)
	Dominance   Dominance
	Fitting     Fitting
	Hint        Hint
	Passivity   float64 // [1] probability, from the sample, that Re Z ≥ 0; NaN where not judged
}

// Void returns a reading of nothing at a frequency: state no-signal, all else absent.
func Void(freqHz uncertain.Quantity) Reading {
	none := uncertain.Absent()
	equivalent := Equivalent{R: none, C: none, L: none}
	return Reading{
		FreqHz: freqHz, State: NoSignal,
		Re: none, Im: none, Correlation: math.NaN(), Modulus: none, Phase: none,
		Y:      Admittance{G: none, B: none, Modulus: none},
		Series: equivalent, Parallel: equivalent, Q: none, D: none,
		Dominance: Dominance{Confidence: math.NaN()}, Passivity: math.NaN(),
	}
}

// nonPassiveLevel is the probability of a passive part below which a reading is
// called non-passive: at 5 % or 2.5 % one lossless part in twenty or forty would
// be, at 0.1 % the estimate lies three standard uncertainties below zero (common
// practice, no source).
const nonPassiveLevel = 1e-3

// NonPassive reports whether Re Z is negative beyond its uncertainty: the
// probability that it is not is below 0.1 %. Re and Passivity have the figures.
func (r Reading) NonPassive() bool { return r.Passivity < nonPassiveLevel }

// holdValues widens every interval that does not reach to its own value: quantiles of a
// sample and the model at its estimates may part by a little.
func (r *Reading) holdValues() {
	for _, q := range []*uncertain.Quantity{&r.Re, &r.Im, &r.Modulus, &r.Phase, &r.Y.G, &r.Y.B, &r.Y.Modulus, &r.Q, &r.D,
		&r.Series.R, &r.Series.C, &r.Series.L, &r.Parallel.R, &r.Parallel.C, &r.Parallel.L} {
		if finite(q.Value) {
			widen(q, q.Value)
		}
	}
}
