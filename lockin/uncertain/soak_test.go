package uncertain

import (
	"flag"
	"math"
	"testing"

	"pgregory.net/rapid"
)

var soak = flag.Bool("soak", false, "run the long statistical tests")

// TestSoakIntervalCoverage: random sums of every bounded shape and of one
// estimated normal input (several would test Welch and Satterthwaite's formula,
// not the convolution); of 10⁶ trials the fraction in the 95 % interval is 0.95 within five
// standard deviations of the count, 0.0011, and 2·10⁻⁴ for the interval's own.
func TestSoakIntervalCoverage(t *testing.T) {
	if !*soak {
		t.Skip("takes ten seconds and more; run with -soak")
	}
	rapid.Check(t, func(t *rapid.T) {
		var in Inputs
		for range rapid.IntRange(1, 5).Draw(t, "scalars") {
			u := math.Pow(10, rapid.Float64Range(-1.5, 0).Draw(t, "log u"))
			in.Add("x", 0, u, rapid.SampledFrom([]Option{Rectangular, Triangular, Arcsine, Trapezoid(0.3)}).Draw(t, "shape"))
		}
		in.Add("estimated", 0, rapid.Float64Range(0, 1).Draw(t, "u"), Dof(rapid.IntRange(1, 30).Draw(t, "dof")))
		r, err := Propagate(&in, 1, sum())
		if err != nil {
			t.Fatal(err)
		}
		low, high := r.Interval(0, 0.95)
		s, err := MonteCarlo(&in, 1, sum(), million, rapid.Uint64().Draw(t, "seed"))
		if err != nil {
			t.Fatal(err)
		}
		inside := 0
		for _, y := range s.Column(0) {
			if y >= low && y <= high {
				inside++
			}
		}
		if got := float64(inside) / million; math.Abs(got-0.95) > 0.0013 {
			t.Errorf("%.4f of the trials lie within %g to %g", got, low, high)
		}
	})
}
