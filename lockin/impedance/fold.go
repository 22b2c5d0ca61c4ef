package impedance

import (
	"math"

	"example.org/wheatear/lockin/uncertain"
)

// Intervals are widened towards the case that X, or R, is nothing at all.
//
// In every part R ≤ |Z| ≤ R_p and |X| ≤ |Z| ≤ |X_p|, with equality where X, or R,
// is zero. A sample spread about zero never gets to the equality: |Z| of a
// resistor with noise on X comes out too high in all trials, and R of one with
// noise on its phase too low. Where zero is not far off, the interval that is
// the wider of the two, which is the one that suffers, is carried on to the end
// of the other. Without this a true resistor would lie outside of its 95 %
// interval almost always in the worst case.

// foldToResistance lets X be zero.
func foldToResistance(r *Reading) {
	if width(r.Modulus) < width(r.Series.R) {
		raise(&r.Series.R, r.Modulus.High)
		raise(&r.Re, r.Modulus.High)
	}
	lower(&r.Modulus, r.Series.R.Low)
	lower(&r.Parallel.R, r.Modulus.Low)
	raise(&r.Y.G, 1/r.Parallel.R.Low)
}

// foldToReactance lets R be zero; sign is that of X. The frequency counts as
// exact here: what it adds to C and L is in their own intervals already.
func foldToReactance(r *Reading, sign float64) {
	omega := 2 * math.Pi * r.FreqHz.Value
	if width(r.Modulus) < width(r.Im) {
		raise(&r.Series.L, r.Modulus.High/omega)
		lower(&r.Series.C, 1/(omega*r.Modulus.High))
		widen(&r.Im, sign*r.Modulus.High)
	}
	lower(&r.Modulus, math.Max(r.Im.Low, -r.Im.High))
	raise(&r.Parallel.C, 1/(omega*r.Modulus.Low))
	lower(&r.Parallel.L, r.Modulus.Low/omega)
	widen(&r.Y.B, -sign/r.Modulus.Low)
}

// widen makes an interval hold a further point.
func widen(q *uncertain.Quantity, to float64) {
	lower(q, to)
	raise(q, to)
}

func width(q uncertain.Quantity) float64 { return q.High - q.Low }

// lower and raise widen an interval where it exists.
func lower(q *uncertain.Quantity, to float64) {
	if finite(q.Low) && to < q.Low {
		q.Low = to
	}
}

func raise(q *uncertain.Quantity, to float64) {
	if finite(q.High) && finite(to) && to > q.High {
		q.High = to
	}
}
