package uncertain

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// sum is a model that adds all inputs up, weighted.
func sum(weights ...float64) Func {
	return func(dst, x []float64) {
		dst[0] = 0
		for i, v := range x {
			w := 1.0
			if i < len(weights) {
				w = weights[i]
			}
			dst[0] += w * v
		}
	}
}

// halfWidth is that of the p interval of the sum of the inputs about zero.
func halfWidth(t *testing.T, in *Inputs, p float64) float64 {
	t.Helper()
	r := mustPropagate(t, in, 1, sum())
	low, high := r.Interval(0, p)
	within(t, "middle of a symmetric interval", low+high, 0, 1e-9*(high-low))
	return (high - low) / 2
}

// gridTol, relative: what 64 steps leave; the kink where a rectangle ends costs
// most.
const gridTol = 4e-5

// TestIntervalClosedForms: one bounded input alone has a quantile in closed form.
func TestIntervalClosedForms(t *testing.T) {
	const half = 0.3
	for _, c := range []struct {
		name    string
		u       float64
		options []Option
		at      func(p float64) float64 // half-width of the p interval, half-width of the support being 1
	}{
		{"rectangular", Rectangular.U(half), []Option{Rectangular}, func(p float64) float64 { return p }},
		{"triangular", Triangular.U(half), []Option{Triangular}, func(p float64) float64 { return 1 - math.Sqrt(1-p) }},
		{"arcsine", Arcsine.U(half), []Option{Arcsine}, func(p float64) float64 { return math.Sin(math.Pi / 2 * p) }},
		{"trapezoid 0.5", Trapezoid(0.5).U(half), []Option{Trapezoid(0.5)}, func(p float64) float64 {
			return 1 - math.Sqrt((1-p)*(1-0.25)) // in the sloping part, p > 2/3
		}},
		{"trapezoid 1", Trapezoid(1).U(half), []Option{Trapezoid(1)}, func(p float64) float64 { return p }},
	} {
		for _, p := range []float64{0.9, 0.95, 0.99} {
			var in Inputs
			in.Add("x", 0, c.u, c.options...)
			tol := gridTol
			if c.name == "arcsine" {
				tol = 3e-4 // its density is infinite at the ends
			}
			near(t, c.name, halfWidth(t, &in, p), half*c.at(p), tol)
		}
	}
}

// TestIntervalSumOfRectangles: JCGM 101:2008, 9.2.3: √3·(4 − 2·0.6^(1/4)) for four
// of u = 1, where ±1.96·2 would be 3.92. And a trapezoid from two unequal ones.
func TestIntervalSumOfRectangles(t *testing.T) {
	var four Inputs
	for range 4 {
		four.Add("x", 0, 1, Rectangular)
	}
	got := halfWidth(t, &four, 0.95)
	near(t, "four rectangles", got, 3.87940674135, gridTol)
	within(t, "as the supplement prints it", got, 3.88, 0.005)

	var two Inputs // half-widths 1 and 0.4: tails fall as (1.4−x)²/(8·0.4)
	two.Add("x", 0, Rectangular.U(1), Rectangular)
	two.Add("y", 0, Rectangular.U(0.4), Rectangular)
	near(t, "two rectangles", halfWidth(t, &two, 0.95), 1.4-math.Sqrt(0.025*8*0.4), gridTol)
}

// gilPelaez returns the half-width that holds p of a sum of independent symmetric
// variables with the characteristic function given: Simpson's rule on
// F(x) = 1/2 + (1/π)∫ sin(tx)φ(t)/t dt, and bisection.
// Reference: J. Gil-Pelaez, Biometrika 38 (1951) 481.
func gilPelaez(characteristic func(t float64) float64, end, reach, p float64) float64 {
	const n = 20000
	weights := make([]float64, n+1)
	for k := 1; k <= n; k++ {
		x := end * float64(k) / n
		w := 2.0 + 2*float64(k%2)
		if k == n {
			w = 1
		}
		weights[k] = w * characteristic(x) / x
	}
	cdf := func(x float64) float64 {
		total := x // the limit of sin(tx)/t at 0
		for k := 1; k <= n; k++ {
			total += weights[k] * math.Sin(end*float64(k)/n*x)
		}
		return 0.5 + total*end/(3*n)/math.Pi
	}
	low, high := 0.0, reach
	for range 40 {
		if x := (low + high) / 2; cdf(x) < (1+p)/2 {
			low = x
		} else {
			high = x
		}
	}
	return (low + high) / 2
}

func sinc(x float64) float64 { return math.Sin(x) / x }

// TestIntervalAgainstInversion: normal with bounded contributions, by the
// inversion of characteristic functions.
func TestIntervalAgainstInversion(t *testing.T) {
	for _, c := range []struct {
		name                       string
		normal, wide, narrow, wave float64 // u, and half-widths
	}{
		{"rectangle rules", 0.1, 1, 0, 0},
		{"rectangle and normal alike", 0.5, 1, 0, 0},
		{"normal rules", 1, 0.8, 0, 0},
		{"two rectangles", 0.1, 1, 0.7, 0},
		{"rectangle and a sine", 0.1, 1, 0, 0.8},
		{"a sine", 0.15, 0, 0, 1},
		{"a sine and little else", 0.02, 0, 0, 1},
		{"a sine and a narrow rectangle", 0.02, 0.016, 0, 1},
		{"all", 0.2, 1, 0.4, 0.6},
	} {
		var in Inputs
		in.Add("normal", 0, c.normal)
		in.Add("wide", 0, Rectangular.U(c.wide), Rectangular)
		in.Add("narrow", 0, Rectangular.U(c.narrow), Rectangular)
		in.Add("wave", 0, Arcsine.U(c.wave), Arcsine)
		phi := func(x float64) float64 {
			v := math.Exp(-c.normal*c.normal*x*x/2) * math.J0(c.wave*x)
			if c.wide > 0 {
				v *= sinc(c.wide * x)
			}
			if c.narrow > 0 {
				v *= sinc(c.narrow * x)
			}
			return v
		}
		for _, p := range []float64{0.68, 0.95, 0.99} {
			want := gilPelaez(phi, 8/c.normal, 5, p)
			near(t, c.name, halfWidth(t, &in, p), want, 1.5e-4)
		}
	}
}

// TestIntervalWithStudent: a rectangle and few degrees of freedom, by Simpson's
// rule over the rectangle on the distribution function of Student's t.
func TestIntervalWithStudent(t *testing.T) {
	for _, c := range []struct{ half, u, dof float64 }{{1, 0.5, 4}, {1, 0.2, 2}, {1, 0.3, 1}, {2, 0.1, 50}, {1, 0.5, 1e7}} {
		var in Inputs
		in.Add("tolerance", 0, Rectangular.U(c.half), Rectangular)
		in.Add("repeats", 0, c.u, Dof(c.dof))
		got := halfWidth(t, &in, 0.95)
		student := distuv.StudentsT{Mu: 0, Sigma: c.u, Nu: c.dof}
		const n = 2000
		total := 0.0
		for k := 0; k <= n; k++ {
			w := 2.0 + 2*float64(k%2)
			if k == 0 || k == n {
				w = 1
			}
			total += w * student.CDF(got-c.half+2*c.half*float64(k)/n)
		}
		within(t, "probability below the upper end", total/(3*n), 0.975, 1e-7)
	}
}

// TestIntervalOfRule: without bounded contributions, or with such that do not
// show, it is t times u.
func TestIntervalOfRule(t *testing.T) {
	var in Inputs
	in.Add("repeats", 0, 1, Dof(4))
	near(t, "t_95(4)", halfWidth(t, &in, 0.95), 2.776445, 1e-6)

	var many Inputs
	many.Add("repeats", 0, 1, Dof(100))
	many.Add("small tolerance", 0, 0.05, Rectangular)
	u := math.Sqrt(1 + 0.05*0.05)
	near(t, "with a small rectangle", halfWidth(t, &many, 0.95), u*CoverageFactor(0.95, 100*math.Pow(u, 4)), 1e-9)

	var few Inputs // a small rectangle does not shorten the tails of t
	few.Add("repeats", 0, 1, Dof(1))
	few.Add("small tolerance", 0, 0.1, Rectangular)
	if got := halfWidth(t, &few, 0.95); !(got >= 12.7062 && got < 12.71) {
		t.Errorf("t_95(1) = 12.706205 with a small rectangle became %g", got)
	}

	var out Inputs
	out.Add("x", 1, 1)
	r := mustPropagate(t, &out, 1, sum())
	for _, p := range []float64{0, 1, -1, math.NaN()} {
		if low, high := r.Interval(0, p); !math.IsNaN(low) || !math.IsNaN(high) {
			t.Errorf("p = %g gave %g to %g", p, low, high)
		}
	}
}

// TestIntervalScales: the same in farad as in units of u.
func TestIntervalScales(t *testing.T) {
	want := 0.0
	for i, unit := range []float64{1, 1e-14, 1e-120, 1e120} {
		var in Inputs
		in.Add("x", 0, 1*unit, Rectangular)
		in.Add("y", 0, 0.6*unit, Triangular)
		in.Add("z", 0, 0.3*unit, Dof(3))
		got := halfWidth(t, &in, 0.95) / unit
		if i == 0 {
			want = got
		}
		near(t, "half-width in units of u", got, want, 1e-9)
	}
}

// TestIntervalOfLogUniform: alone, both ends are known: a·(b/a)^((1∓p)/2), also
// seen through a negative sensitivity.
func TestIntervalOfLogUniform(t *testing.T) {
	for _, c := range [][2]float64{{1, 3}, {1, 10}} {
		for _, weight := range []float64{2, -2} {
			var in Inputs
			in.AddLogUniform("decade", c[0], c[1])
			r := mustPropagate(t, &in, 1, sum(weight))
			low, high := r.Interval(0, 0.95)
			a, b := weight*c[0]*math.Pow(c[1]/c[0], 0.025), weight*c[0]*math.Pow(c[1]/c[0], 0.975)
			within(t, "lower end", low, math.Min(a, b), 0.01*r.U(0))
			within(t, "upper end", high, math.Max(a, b), 0.01*r.U(0))
		}
	}
}

// TestIntervalCoverage: of the outputs drawn by Monte Carlo, 95 % lie in the
// interval, whatever rules it. 200000 trials count 95 % to 0.05 %; 4 of those.
func TestIntervalCoverage(t *testing.T) {
	const trials, tol = 200000, 0.002
	block := mat.NewSymDense(2, []float64{1, 0.8, 0.8, 1})
	for name, fill := range map[string]func(in *Inputs){
		"rectangle":          func(in *Inputs) { in.Add("r", 0, 1, Rectangular) },
		"rectangle, normal":  func(in *Inputs) { in.Add("r", 0, 1, Rectangular); in.Add("n", 0, 0.3) },
		"rectangle, t of 3":  func(in *Inputs) { in.Add("r", 0, 1, Rectangular); in.Add("n", 0, 0.3, Dof(3)) },
		"triangle, sine":     func(in *Inputs) { in.Add("t", 0, 1, Triangular); in.Add("a", 0, 0.7, Arcsine) },
		"trapezoid":          func(in *Inputs) { in.Add("t", 0, 1, Trapezoid(0.7)); in.Add("n", 0, 0.1) },
		"log-uniform":        func(in *Inputs) { in.AddLogUniform("l", 1, 20); in.Add("n", 0, 0.5) },
		"block of 5, square": func(in *Inputs) { in.AddJoint("b", []float64{0, 0}, block, 5); in.Add("r", 0, 2, Rectangular) },
		"many": func(in *Inputs) {
			for k := range 12 {
				in.Add("r", 0, 1/float64(1+k), Rectangular)
			}
		},
	} {
		t.Run(name, func(t *testing.T) {
			var in Inputs
			fill(&in)
			r := mustPropagate(t, &in, 1, sum())
			low, high := r.Interval(0, 0.95)
			s, err := MonteCarlo(&in, 1, sum(), trials, 1)
			if err != nil {
				t.Fatal(err)
			}
			below, above := 0, 0
			for _, y := range s.Column(0) {
				if y < low {
					below++
				}
				if y > high {
					above++
				}
			}
			within(t, "fraction below", float64(below)/trials, 0.025, tol/1.5)
			within(t, "fraction above", float64(above)/trials, 0.025, tol/1.5)
		})
	}
}
