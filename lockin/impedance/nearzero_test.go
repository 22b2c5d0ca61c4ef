package impedance

import (
	"math"
	"testing"
)

// truncatedHigh is the 95 % point of what is not negative of a normal
// distribution about t: h with Φ(t−h) = 0.05 Φ(t).
func truncatedHigh(t float64) float64 {
	a, b := 0.0, t+40
	for range 60 {
		if m := (a + b) / 2; normalCDF(t-m) > 0.05*normalCDF(t) {
			a = m
		} else {
			b = m
		}
	}
	return a
}

// The rule holds 95 % at zero and far from it, never less, and little more between,
// by the normal distribution itself.
func TestRuleNearZero(t *testing.T) {
	const step = 2e-3
	// One step at each end of the interval, of a density of 0.1 at most.
	const tol = 2 * step * 0.1
	type interval struct{ at, low, high float64 }
	var all []interval
	for x := -6.0; x < 12; x += step {
		in := interval{x, 0, truncatedHigh(x)}
		if x >= 0 {
			in.low, in.high = least(x), x+normal95
		}
		all = append(all, in)
	}
	for mu := 0.0; mu <= 6; mu += 0.25 {
		held := 0.0
		for _, in := range all {
			if in.low <= mu && mu <= in.high {
				held += normalCDF(in.at+step-mu) - normalCDF(in.at-mu)
			}
		}
		if held < 0.95-tol || held > 0.969 {
			t.Errorf("%.4f of the intervals hold %g standard uncertainties", held, mu)
		}
		if (mu == 0 || mu > 4) && held > 0.95+tol {
			t.Errorf("%.4f of the intervals hold %g standard uncertainties, want 0.95", held, mu)
		}
	}
}

// The lower end leaves zero at 1.64 u and never jumps; from 3.92 u on it is the usual.
func TestLowerEndIsContinuous(t *testing.T) {
	last := 0.0
	for x := 0.0; x < 6; x += 5e-3 {
		low := least(x)
		if low < last || low > last+0.03 {
			t.Fatalf("from %g to %g at %g", last, low, x)
		}
		if (low > 0) != (x > 1.6449) {
			t.Fatalf("lower end %g at %g", low, x)
		}
		last = low
	}
	if got := least(5); math.Abs(got-(5-normal95)) > 1e-9 {
		t.Errorf("at 5 from %g", got)
	}
}
