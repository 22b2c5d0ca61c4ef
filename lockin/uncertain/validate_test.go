package uncertain

import (
	"math"
	"testing"
)

// numericalTolerance returns δ, half a unit in the last of digits significant
// decimal digits of u: u = c·10^l with c an integer of that many digits,
// δ = ½·10^l. NaN where u is not positive and finite or digits is less than 1.
// Reference: JCGM 101:2008, 7.9.2.
func numericalTolerance(u float64, digits int) float64 {
	if !(u > 0) || math.IsInf(u, 0) || digits < 1 || digits > 17 {
		return math.NaN()
	}
	return 0.5 * math.Pow10(roundDigits(u, digits).place)
}

// validation compares the interval of the law of propagation with that of a
// Monte Carlo run.
type validation struct {
	dLow, dHigh float64 // distance of the lower and of the upper ends, in the unit of the output
	delta       float64 // numerical tolerance
	ok          bool    // both distances are within delta
}

// validate compares the p intervals of output i of r and s: the first-order
// result stands where both ends agree within the numerical tolerance of its u
// at the given number of significant digits (1 or 2). The Monte Carlo run must be
// long enough to settle its own ends within a fraction of that.
// Reference: JCGM 101:2008, 8.1.
func validate(r *Result, s *Sample, i int, p float64, digits int) validation {
	low, high := r.Interval(i, p)
	mcLow, mcHigh := s.Interval(i, p)
	v := validation{
		dLow:  math.Abs(low - mcLow),
		dHigh: math.Abs(high - mcHigh),
		delta: numericalTolerance(r.U(i), digits),
	}
	v.ok = v.dLow <= v.delta && v.dHigh <= v.delta
	return v
}

// TestNumericalTolerance: JCGM 101:2008, 7.9.2, with its two examples of u
// (0.000 35: from memory).
func TestNumericalTolerance(t *testing.T) {
	for _, c := range []struct {
		u      float64
		digits int
		want   float64
	}{{0.00035, 2, 0.5e-5}, {0.00035, 1, 0.5e-4}, {2, 1, 0.5}, {0.96, 1, 0.5e0}, {0.94, 1, 0.05}, {99.6, 2, 5}, {1e-12, 2, 0.5e-13}} {
		near(t, "δ", numericalTolerance(c.u, c.digits), c.want, 1e-14)
	}
	for _, c := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		if d := numericalTolerance(c, 2); !math.IsNaN(d) {
			t.Errorf("u = %g: δ = %g, want NaN", c, d)
		}
	}
	if d := numericalTolerance(1, 0); !math.IsNaN(d) {
		t.Errorf("no digits: δ = %g, want NaN", d)
	}
}
