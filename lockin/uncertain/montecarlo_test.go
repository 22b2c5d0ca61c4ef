package uncertain

import (
	"math"
	"slices"
	"sort"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
)

// Of 10⁶ trials the mean is within 0.004 u, u within 0.6 %, the ends of the
// symmetric interval within 0.012 u, of the shortest within 0.05 u: four or more
// standard deviations of each (1/√M, 1/√2M for a normal output, √(pq/M)/density).
const (
	million     = 1_000_000
	meanTol     = 0.004
	uTol        = 0.006
	endTol      = 0.012
	shortestTol = 0.05
)

func mustRun(t *testing.T, in *Inputs, outputs int, f Func, trials int, seed uint64) *Sample {
	t.Helper()
	s, err := MonteCarlo(in, outputs, f, trials, seed)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// TestSumOfFour: JCGM 101:2008, 9.2: four normal, four rectangular.
func TestSumOfFour(t *testing.T) {
	for _, c := range []struct {
		shape Shape
		half  float64
	}{{Normal, 3.91992796908}, {Rectangular, 3.87940674135}} {
		var in Inputs
		for range 4 {
			in.Add("x", 0, 1, c.shape)
		}
		s := mustRun(t, &in, 1, sum(), million, 1)
		within(t, "mean", s.Mean(0), 0, meanTol*2)
		near(t, "u", s.U(0), 2, uTol)
		low, high := s.Interval(0, 0.95)
		within(t, "low", low, -c.half, endTol*2)
		within(t, "high", high, c.half, endTol*2)
		low, high = s.Shortest(0, 0.95)
		within(t, "shortest, low", low, -c.half, shortestTol*2)
		within(t, "shortest, high", high, c.half, shortestTol*2)
		r := mustPropagate(t, &in, 1, sum())
		if v := validate(r, s, 0, 0.95, 1); !v.ok {
			t.Errorf("first order is exact here, yet %+v", v)
		}
	}
}

// TestSumOfSquares: JCGM 101:2008, 9.4: X1² + X2², u = 0.005 each, where first
// order fails. The moments are exact: mean x² + 2u², variance 4u²x² + 4u⁴.
func TestSumOfSquares(t *testing.T) {
	f := func(dst, x []float64) { dst[0] = x[0]*x[0] + x[1]*x[1] }
	for _, c := range []struct{ x, mean, u, firstU float64 }{
		{0, 50e-6, 50e-6, 0},
		{0.010, 150e-6, 111.803399e-6, 100e-6},
		{0.050, 2550e-6, 502.493781e-6, 500e-6},
	} {
		var in Inputs
		in.Add("x1", c.x, 0.005)
		in.Add("x2", 0, 0.005)
		s := mustRun(t, &in, 1, f, million, 1)
		within(t, "mean", s.Mean(0), c.mean, meanTol*c.u)
		near(t, "u", s.U(0), c.u, 2*uTol) // the output's kurtosis is up to 9, so u settles half as fast
		r := mustPropagate(t, &in, 1, f)
		within(t, "first-order u", r.U(0), c.firstU, 1e-12*c.u)
		if c.x == 0 {
			low, high := s.Shortest(0, 0.95)
			within(t, "shortest, low", low, 0, 1e-4*c.u) // the least of 10⁶
			within(t, "shortest, high", high, 149.786614e-6, shortestTol*c.u)
			within(t, "as the supplement prints it", high, 150e-6, 0.5e-6+shortestTol*c.u)
		}
		if c.x == 0.010 {
			if v := validate(r, s, 0, 0.95, 1); v.ok {
				t.Errorf("first order fails here, yet %+v", v)
			}
		}
	}
}

// TestRiceBias: the mean modulus of a complex value with noise of 1 in each part.
// Rice, Bell Syst. Tech. J. 24 (1945) 46.
func TestRiceBias(t *testing.T) {
	f := func(dst, x []float64) { dst[0] = math.Hypot(x[0], x[1]) }
	for _, c := range []struct{ z, mean, u float64 }{
		{0, 1.25331413732, 0.655136377562},
		{0.5, 1.33044734061, 0.692755277036},
		{1, 1.54857246055, 0.775837182934},
		{2, 2.27238342807, 0.914479937363},
		{3, 3.1725772879, 0.966826433387},
		{5, 5.10106963949, 0.989489026241},
		{10, 10.0501269367, 0.997471080619},
	} {
		var in Inputs
		in.AddComplex("z", []complex128{complex(c.z*0.6, c.z*0.8)}, mat.NewSymDense(2, []float64{1, 0, 0, 1}), 0)
		s := mustRun(t, &in, 1, f, 200000, 3)
		within(t, "mean", s.Mean(0), c.mean, 2.3*meanTol*c.u) // √5 fewer trials
		near(t, "u", s.U(0), c.u, 2.3*uTol)
	}
}

// TestShapes: moments and reach of every shape, and its 95 % interval.
func TestShapes(t *testing.T) {
	const u, trials = 0.5, 200000
	for _, c := range []struct {
		name           string
		option         Option
		reach          float64 // half-width in units of u; 0 means unbounded
		kurtosis, half float64 // excess; half-width of 95 % in units of u
	}{
		{"normal", Normal, 0, 0, 1.959964},
		{"rectangular", Rectangular, math.Sqrt(3), -1.2, 0.95 * math.Sqrt(3)},
		{"triangular", Triangular, math.Sqrt(6), -0.6, (1 - math.Sqrt(0.05)) * math.Sqrt(6)},
		{"arcsine", Arcsine, math.Sqrt2, -1.5, math.Sin(0.475*math.Pi) * math.Sqrt2},
		{"trapezoid", Trapezoid(0.5), math.Sqrt(6 / 1.25), -1.2 * (81 + 1) / 100, (1 - math.Sqrt(0.05*0.75)) * math.Sqrt(6/1.25)},
		{"Student, 10", Dof(10), 0, math.NaN(), 2.228139},
	} {
		t.Run(c.name, func(t *testing.T) {
			var in Inputs
			in.Add("x", 7, u, c.option)
			s := mustRun(t, &in, 1, sum(), trials, 5)
			within(t, "mean", s.Mean(0), 7, 4*u/math.Sqrt(trials)*1.2)
			low, high := s.Interval(0, 0.95)
			within(t, "half-width", (high-low)/2, c.half*u, 0.02*u)
			if c.name == "Student, 10" {
				near(t, "u, √(ν/(ν−2)) larger", s.U(0), u*math.Sqrt(1.25), 0.015)
				return
			}
			near(t, "u", s.U(0), u, 0.01)
			within(t, "excess kurtosis", stat.ExKurtosis(s.Column(0), nil), c.kurtosis, 0.06)
			sorted := slices.Sorted(slices.Values(s.Column(0)))
			if extreme := sorted[trials-1] - 7; c.reach > 0 && (extreme > c.reach*u*(1+1e-12) || extreme < 0.99*c.reach*u) {
				t.Errorf("reaches %g, want almost %g", extreme, c.reach*u)
			}
		})
	}
}

// TestLogUniformDraws: every decade gets its share.
func TestLogUniformDraws(t *testing.T) {
	var in Inputs
	in.AddLogUniform("prior", 1e5, 1e8)
	s := mustRun(t, &in, 1, sum(), 100000, 1)
	for q, want := range map[float64]float64{1.0 / 3: 1e6, 2.0 / 3: 1e7, 0.5: math.Pow(10, 6.5)} {
		within(t, "log of the quantile", math.Log10(s.Quantile(0, q)), math.Log10(want), 0.02)
	}
	near(t, "mean", s.Mean(0), in.Values()[0], 0.02)
	near(t, "u", s.U(0), in.U(0), 0.02)
}

// TestJointDraws: covariance of a singular block, and one chi-square draw for the
// whole of an estimated one.
func TestJointDraws(t *testing.T) {
	var in Inputs
	cov := mat.NewSymDense(3, []float64{4, 2, 6, 2, 9, 11, 6, 11, 17}) // the third is the sum of the others
	in.AddJoint("singular", []float64{1, 2, 3}, cov, 0)
	copyAll := func(dst, x []float64) { copy(dst, x) }
	s := mustRun(t, &in, 3, copyAll, 100000, 2)
	for i := range 3 {
		within(t, "mean", s.Mean(i), float64(i+1), 0.06)
		for j := range i {
			want := cov.At(i, j) / math.Sqrt(cov.At(i, i)*cov.At(j, j))
			within(t, "correlation", s.Correlation(i, j), want, 0.015)
		}
		near(t, "u", s.U(i), math.Sqrt(cov.At(i, i)), 0.01)
	}
	for k := range 100 {
		within(t, "third input", s.Column(2)[k], s.Column(0)[k]+s.Column(1)[k], 1e-6)
	}

	// Two uncorrelated inputs of 5 degrees of freedom: their moduli are correlated
	// only where they share the chi-square draw. With ρ the correlation of |t1| and
	// |t2|: E|t1||t2| = (2/π)·ν/(ν−2), E|t| = √(ν/π)Γ((ν−1)/2)/Γ(ν/2), E t² = ν/(ν−2).
	const nu = 5.0
	meanAbs := math.Sqrt(nu/math.Pi) * math.Gamma((nu-1)/2) / math.Gamma(nu/2)
	square := nu / (nu - 2)
	want := (2/math.Pi*square - meanAbs*meanAbs) / (square - meanAbs*meanAbs)
	var block, apart Inputs
	block.AddJoint("block", []float64{0, 0}, mat.NewSymDense(2, []float64{1, 0, 0, 1}), nu)
	apart.Add("one", 0, 1, Dof(nu))
	apart.Add("two", 0, 1, Dof(nu))
	moduli := func(dst, x []float64) { dst[0], dst[1] = math.Abs(x[0]), math.Abs(x[1]) }
	within(t, "correlation of moduli in a block", mustRun(t, &block, 2, moduli, 200000, 4).Correlation(0, 1), want, 0.04)
	within(t, "and apart", mustRun(t, &apart, 2, moduli, 200000, 4).Correlation(0, 1), 0, 0.015)
}

// TestFewDegreesOfFreedom: where moments do not exist the quantiles do.
// JCGM 100:2008, Table G.2.
func TestFewDegreesOfFreedom(t *testing.T) {
	for dof, want := range map[float64]float64{1: 12.706205, 2: 4.302653, 3: 3.182446} {
		var in Inputs
		in.Add("x", 0, 1, Dof(dof))
		low, high := mustRun(t, &in, 1, sum(), 400000, 8).Interval(0, 0.95)
		near(t, "t_95", (high-low)/2, want, 0.025)
	}
}

func TestSameSeedSameSample(t *testing.T) {
	in := h2Inputs(t)
	in.Add("r", 0, 1, Rectangular)
	in.AddLogUniform("l", 1, 2)
	a, b := mustRun(t, in, 3, h2Model, 500, 42), mustRun(t, in, 3, h2Model, 500, 42)
	other := mustRun(t, in, 3, h2Model, 500, 43)
	for i := range 3 {
		if !slices.Equal(a.Column(i), b.Column(i)) {
			t.Errorf("output %d differs from run to run", i)
		}
		if slices.Equal(a.Column(i), other.Column(i)) {
			t.Errorf("output %d does not depend on the seed", i)
		}
	}
	if a.Trials() != 500 {
		t.Errorf("%d trials, want 500", a.Trials())
	}
}

// TestH2MonteCarlo: JCGM 100:2008, Annex H.2, as multivariate t of 4 degrees of
// freedom: nearly linear, so t_95(4) = 2.776445 times u.
func TestH2MonteCarlo(t *testing.T) {
	s := mustRun(t, h2Inputs(t), 3, h2Model, 200000, 6)
	for i, u := range []float64{0.0710714073969959, 0.295581677358644, 0.23633613008238} {
		low, high := s.Interval(i, 0.95)
		near(t, "half-width", (high-low)/2, 2.776445*u, 0.03)
	}
	within(t, "r(X,Z)", s.Correlation(1, 2), 0.9925, 0.005)
}

// TestSampleIntervalDefinition: JCGM 101:2008, 7.7.2, on 20 numbers: pM = 19
// steps is all there is; p = 0.5: r = (20−10)/2 = 5, from the fifth to the
// fifteenth.
func TestSampleIntervalDefinition(t *testing.T) {
	s := newSample(1, 20)
	for k := range 20 {
		s.columns[0][k] = float64((k*7)%20 + 1) // 1 … 20, shuffled
	}
	if sort.Float64sAreSorted(s.Column(0)) {
		t.Fatal("the numbers must not be in order")
	}
	for p, want := range map[float64][2]float64{0.5: {5, 15}, 0.95: {1, 20}, 0.01: {9, 10}} {
		if low, high := s.Interval(0, p); low != want[0] || high != want[1] {
			t.Errorf("p = %g: %g to %g, want %g to %g", p, low, high, want[0], want[1])
		}
		if low, high := s.Shortest(0, p); high-low != want[1]-want[0] {
			t.Errorf("shortest, p = %g: %g to %g", p, low, high)
		}
	}
	if got := s.Quantile(0, 0.5); got != 10 {
		t.Errorf("median %g, want 10", got)
	}
	for _, p := range []float64{0, 1, math.NaN()} {
		if low, high := s.Interval(0, p); !math.IsNaN(low) || !math.IsNaN(high) {
			t.Errorf("p = %g: %g to %g, want NaN", p, low, high)
		}
		if low, high := s.Shortest(0, p); !math.IsNaN(low) || !math.IsNaN(high) {
			t.Errorf("shortest, p = %g: %g to %g, want NaN", p, low, high)
		}
	}
	if q := s.Quantile(0, 1.5); !math.IsNaN(q) {
		t.Errorf("quantile of 1.5 = %g", q)
	}
}

// TestTrialsThatFail: NaN voids an output, infinity only the ends it reaches.
func TestTrialsThatFail(t *testing.T) {
	var in Inputs
	in.Add("x", 0, 1)
	s := mustRun(t, &in, 3, func(dst, x []float64) {
		dst[0] = math.Sqrt(x[0]) // NaN half of the time
		dst[1] = 1 / math.Max(0, x[0])
		dst[2] = x[0]
	}, 10000, 1)
	if q := s.Quantity(0); !q.IsAbsent() {
		t.Errorf("NaN among the trials gave %+v", q)
	}
	low, high := s.Interval(1, 0.95)
	if !(low > 0.49 && low < 0.53) || !math.IsInf(high, 1) { // 1/1.96, and more than 2.5 % infinite
		t.Errorf("interval %g to %g", low, high)
	}
	if low, high := s.Shortest(1, 0.95); low != s.Quantile(1, 0) || !math.IsInf(high, 1) {
		t.Errorf("no finite interval holds 95 %%, yet %g to %g", low, high)
	}
	if q := s.Quantity(2); q.IsAbsent() {
		t.Error("the sound output was voided too")
	}
}

func BenchmarkMonteCarlo(b *testing.B) {
	var in Inputs
	for i := range 25 {
		if i%3 == 0 {
			in.Add("r", 1, 0.01, Rectangular)
		} else {
			in.Add("n", 1, 0.01)
		}
	}
	f := func(dst, x []float64) { dst[0] = dot(x, x); dst[1] = dst[0] * x[0] }
	b.ReportAllocs()
	for b.Loop() {
		s, err := MonteCarlo(&in, 2, f, 10000, 1)
		if err != nil {
			b.Fatal(err)
		}
		s.Interval(0, 0.95)
	}
}

func BenchmarkInterval(b *testing.B) {
	for name, dof := range map[string]Dof{"normal": 0, "student": 7.3} {
		b.Run(name, func(b *testing.B) {
			var in Inputs
			in.Add("r", 1, 1, Rectangular)
			in.Add("r", 1, 0.8, Rectangular)
			in.Add("a", 1, 0.3, Arcsine)
			in.Add("n", 1, 0.5, dof)
			r, err := Propagate(&in, 1, sum())
			if err != nil {
				b.Fatal(err)
			}
			for b.Loop() {
				r.Interval(0, 0.95)
			}
		})
	}
}
