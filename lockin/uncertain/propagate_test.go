package uncertain

import (
	"errors"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"
)

func mustPropagate(t *testing.T, in *Inputs, outputs int, f Func) *Result {
	t.Helper()
	r, err := Propagate(in, outputs, f)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// TestDifferences: slopes of functions known in closed form, at zero, at huge and
// tiny values, with u far below and near the value.
func TestDifferences(t *testing.T) {
	for _, c := range []struct {
		name     string
		x, u     float64
		f, slope func(x float64) float64
		tol      float64 // relative; 1e-16·|f|·8/u of rounding, or (u/8)⁴f⁽⁵⁾/30 of truncation
	}{
		{"exp at 0", 0, 1e-3, math.Exp, math.Exp, 2e-12},
		{"exp, wide", 0, 0.3, math.Exp, math.Exp, 1e-6},
		{"sine at 1e6", 1e6, 1e-3, math.Sin, math.Cos, 1e-6},
		{"reciprocal of picofarad", 1e-12, 1e-14, func(x float64) float64 { return 1 / x }, func(x float64) float64 { return -1 / x / x }, 1e-9},
		{"square of 1e70", 1e70, 1e67, func(x float64) float64 { return x * x }, func(x float64) float64 { return 2 * x }, 1e-11},
		{"u at the spacing of floats", 1000, 1e-13, func(x float64) float64 { return x * x }, func(x float64) float64 { return 2 * x }, 1e-6},
		{"root close to its end", 1, 0.9, math.Sqrt, func(x float64) float64 { return 0.5 / math.Sqrt(x) }, 1e-4},
	} {
		t.Run(c.name, func(t *testing.T) {
			var in Inputs
			in.Add("x", c.x, c.u)
			r := mustPropagate(t, &in, 1, func(dst, x []float64) { dst[0] = c.f(x[0]) })
			near(t, "slope", r.Sens.At(0, 0), c.slope(c.x), c.tol)
			near(t, "u", r.U(0), math.Abs(c.slope(c.x))*c.u, c.tol)
		})
	}
}

func TestExactInputsAreNotVaried(t *testing.T) {
	var in Inputs
	in.Add("exact", 5, 0)
	in.Add("x", 2, 0.1)
	in.AddJoint("half exact", []float64{3, 4}, mat.NewSymDense(2, []float64{0, 0, 0, 0.04}), 0)
	calls := 0
	r := mustPropagate(t, &in, 1, func(dst, x []float64) {
		calls++
		if x[0] != 5 || x[2] != 3 {
			t.Errorf("exact inputs were moved to %g and %g", x[0], x[2])
		}
		dst[0] = x[0] + x[1] + x[2] + x[3]
	})
	if calls != 1+4+4 {
		t.Errorf("%d calls, want one and four for each of two inputs", calls)
	}
	near(t, "u", r.U(0), math.Sqrt(0.01+0.04), 1e-12)
}

// TestNoUncertainty: all inputs exact.
func TestNoUncertainty(t *testing.T) {
	var in Inputs
	in.Add("exact", 5, 0, Dof(3), Rectangular)
	if in.Err() == nil {
		t.Error("degrees of freedom of a rectangular input were accepted")
	}
	in = Inputs{}
	in.Add("exact", 5, 0)
	r := mustPropagate(t, &in, 1, func(dst, x []float64) { dst[0] = 2 * x[0] })
	low, high := r.Interval(0, 0.95)
	if r.U(0) != 0 || low != 10 || high != 10 || len(r.Budget(0)) != 0 || !math.IsInf(r.Dof[0], 1) {
		t.Errorf("u %g, interval %g to %g, budget %v, dof %g", r.U(0), low, high, r.Budget(0), r.Dof[0])
	}
}

// TestOutputThatDoesNotExist: 1/0 voids its own figures and no others.
func TestOutputThatDoesNotExist(t *testing.T) {
	var in Inputs
	in.Add("x", 0, 1)
	r := mustPropagate(t, &in, 3, func(dst, x []float64) {
		dst[0], dst[1], dst[2] = 1/x[0], 3*x[0], math.Log(x[0]+0.1) // the last exists at 0, not at −1/8
	})
	for _, i := range []int{0, 2} {
		q := r.Quantity(i)
		if !math.IsNaN(q.U) || !math.IsNaN(q.Low) || !math.IsNaN(q.High) || r.Budget(i) != nil || !math.IsNaN(r.Correlation(i, 1)) {
			t.Errorf("output %d: %+v, budget %v", i, q, r.Budget(i))
		}
	}
	if !math.IsNaN(r.Y[0]) || math.IsNaN(r.Y[2]) {
		t.Errorf("values %v", r.Y)
	}
	near(t, "u of the sound one", r.U(1), 3, 1e-12)
}

// TestWelchSatterthwaite: JCGM 100:2008, G.4.1 by hand. Two scalars of 9 and 4
// degrees of freedom, a jointly estimated block of 19 and a known input.
func TestWelchSatterthwaite(t *testing.T) {
	var in Inputs
	in.Add("a", 1, 3, Dof(9))
	in.Add("b", 1, 2, Dof(4))
	in.AddJoint("c", []float64{0, 0}, mat.NewSymDense(2, []float64{4, 3, 3, 9}), 19)
	in.Add("d", 0, 5)
	r := mustPropagate(t, &in, 2, func(dst, x []float64) {
		dst[0] = x[0] + 2*x[1] + x[2] - x[3] + x[4]
		dst[1] = x[4]
	})
	block := 4.0 - 2*3 + 9
	variance := 9.0 + 16 + block + 25
	want := variance * variance / (81.0/9 + 256.0/4 + block*block/19)
	near(t, "ν_eff", r.Dof[0], want, 1e-11)
	if !math.IsInf(r.Dof[1], 1) {
		t.Errorf("ν_eff of a known input = %g, want +Inf", r.Dof[1])
	}
	low, high := r.Interval(0, 0.95)
	near(t, "half-width", (high-low)/2, CoverageFactor(0.95, want)*math.Sqrt(variance), 1e-9)
}

func TestUnusableInputs(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	two := []float64{1, 2}
	for _, c := range []struct {
		name, says string
		add        func(in *Inputs)
	}{
		{"value NaN", "value is NaN", func(in *Inputs) { in.Add("x", nan, 1) }},
		{"value infinite", "value is +Inf", func(in *Inputs) { in.Add("x", inf, 1) }},
		{"u negative", "uncertainty is -1", func(in *Inputs) { in.Add("x", 0, -1) }},
		{"u infinite", "uncertainty is +Inf", func(in *Inputs) { in.Add("x", 0, inf) }},
		{"dof below one", "too few", func(in *Inputs) { in.Add("x", 0, 1, Dof(0.5)) }},
		{"dof NaN", "too few", func(in *Inputs) { in.Add("x", 0, 1, Dof(nan)) }},
		{"shape unknown", "shape 77", func(in *Inputs) { in.Add("x", 0, 1, Shape(77)) }},
		{"trapezoid", "top to base", func(in *Inputs) { in.Add("x", 0, 1, Trapezoid(1.5)) }},
		{"dof of a rectangle", "belong to a normal", func(in *Inputs) { in.Add("x", 0, 1, Rectangular, Dof(4)) }},
		{"log-uniform from zero", "log-uniform", func(in *Inputs) { in.AddLogUniform("x", 0, 1) }},
		{"log-uniform backwards", "in order", func(in *Inputs) { in.AddLogUniform("x", 2, 1) }},
		{"joint, empty", "covariance matrix", func(in *Inputs) { in.AddJoint("x", nil, nil, 0) }},
		{"joint, wrong size", "as many rows", func(in *Inputs) { in.AddJoint("x", two, mat.NewSymDense(1, nil), 0) }},
		{"joint, value", "value 1 is NaN", func(in *Inputs) { in.AddJoint("x", []float64{0, nan}, mat.NewSymDense(2, nil), 0) }},
		{"joint, dof", "too few", func(in *Inputs) { in.AddJoint("x", two, mat.NewSymDense(2, nil), -3) }},
		{"negative variance", "variance of number 1", func(in *Inputs) { in.AddJoint("x", two, mat.NewSymDense(2, []float64{1, 0, 0, -1}), 0) }},
		{"correlation 2", "negative eigenvalue", func(in *Inputs) { in.AddJoint("x", two, mat.NewSymDense(2, []float64{1, 2, 2, 1}), 0) }},
		{"covariance of an exact one", "numbers 0 and 1", func(in *Inputs) { in.AddJoint("x", two, mat.NewSymDense(2, []float64{1, 2, 2, 0}), 0) }},
		{"covariance NaN", "numbers 0 and 1", func(in *Inputs) { in.AddJoint("x", two, mat.NewSymDense(2, []float64{1, nan, nan, 1}), 0) }},
	} {
		t.Run(c.name, func(t *testing.T) {
			var in Inputs
			in.Add("sound", 1, 1)
			c.add(&in)
			next := in.Add("after it", 1, 1)
			if next != in.Len()-1 {
				t.Errorf("index %d after the bad input, want %d", next, in.Len()-1)
			}
			_, err := Propagate(&in, 1, func(dst, x []float64) {})
			if !errors.Is(err, ErrInput) || !strings.Contains(err.Error(), c.says) || !strings.HasPrefix(err.Error(), "uncertain: ") {
				t.Errorf("error %v, want one that says %q", err, c.says)
			}
			if _, err := MonteCarlo(&in, 1, func(dst, x []float64) {}, 10, 1); !errors.Is(err, ErrInput) {
				t.Errorf("MonteCarlo: error %v", err)
			}
		})
	}
}

func TestUnusableModels(t *testing.T) {
	var none, one Inputs
	one.Add("x", 1, 1)
	f := func(dst, x []float64) {}
	for name, run := range map[string]func() error{
		"no inputs":  func() error { _, err := Propagate(&none, 1, f); return err },
		"nil inputs": func() error { _, err := Propagate(nil, 1, f); return err },
		"no outputs": func() error { _, err := Propagate(&one, 0, f); return err },
		"no model":   func() error { _, err := MonteCarlo(&one, 1, nil, 100, 1); return err },
		"one trial":  func() error { _, err := MonteCarlo(&one, 1, f, 1, 1); return err },
	} {
		if err := run(); err == nil || !strings.HasPrefix(err.Error(), "uncertain: ") {
			t.Errorf("%s: error %v", name, err)
		}
	}
}

func TestInputsAccessors(t *testing.T) {
	var in Inputs
	in.Add("x", 1, 0.5)
	first := in.AddComplex("z", []complex128{2 + 3i}, mat.NewSymDense(2, []float64{4, -1, -1, 9}), 0)
	logAt := in.AddLogUniform("decade", 1, 10)
	if first != 1 || logAt != 3 || in.Len() != 4 || in.Err() != nil {
		t.Fatalf("first %d, log %d, length %d, error %v", first, logAt, in.Len(), in.Err())
	}
	for i, want := range []float64{0.5, 2, 3} {
		near(t, "u", in.U(i), want, 1e-15)
	}
	values := in.Values()
	values[0] = 99 // a copy
	if got := in.Values(); got[0] != 1 || got[1] != 2 || got[2] != 3 {
		t.Errorf("values %v", got)
	}
	if !math.IsNaN(in.U(4)) {
		t.Error("there is no input 4")
	}
}

// TestLogUniformMoments against Simpson's rule over the logarithm.
func TestLogUniformMoments(t *testing.T) {
	for _, c := range [][2]float64{{1, 10}, {1e6, 1e8}, {3, 3.001}, {3, 3.0000003}, {1e-300, 1e300}, {2, 2}} {
		mean, u := logUniformMoments(c[0], c[1])
		if c[0] == c[1] {
			if mean != 2 || u != 0 {
				t.Errorf("no width: mean %g, u %g", mean, u)
			}
			continue
		}
		const n = 20000
		width := math.Log(c[1]) - math.Log(c[0])
		sum, square := 0.0, 0.0
		for k := 0; k <= n; k++ {
			w := 2.0 + 2*float64(k%2)
			if k == 0 || k == n {
				w = 1
			}
			d := math.Exp(math.Log(c[0])+width*float64(k)/n)/mean - 1
			sum, square = sum+w*d, square+w*d*d
		}
		within(t, "deviation from the mean", sum/(3*n), 0, 1e-6)
		near(t, "u", u/mean, math.Sqrt(square/(3*n)), 1e-4)
	}
}
