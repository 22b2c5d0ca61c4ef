package uncertain

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// Simultaneous resistance and reactance. JCGM 100:2008, Annex H.2, Table H.2:
// amplitude of voltage (V) and current (A), phase of V against I (rad).
var h2Observations = [][]float64{
	{5.007, 4.994, 5.005, 4.99, 4.999},
	{19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3},
	{1.0456, 1.0438, 1.0468, 1.0428, 1.0433},
}

// h2Model gives R, X and Z, all in ohm.
func h2Model(dst, x []float64) {
	v, i, phi := x[0], x[1], x[2]
	dst[0], dst[1], dst[2] = v/i*math.Cos(phi), v/i*math.Sin(phi), v/i
}

// h2Jacobian is from the derivatives of h2Model, worked out by hand.
func h2Jacobian(dst *mat.Dense, x []float64) {
	v, i, phi := x[0], x[1], x[2]
	r, im, z := v/i*math.Cos(phi), v/i*math.Sin(phi), v/i
	for k, row := range [][]float64{
		{math.Cos(phi) / i, -r / i, -im},
		{math.Sin(phi) / i, -im / i, r},
		{1 / i, -z / i, 0},
	} {
		dst.SetRow(k, row)
	}
}

// Recomputed from the data with 40 digits; the figures the Guide prints are half a
// unit of their last place away at most, and tested apart.
const (
	h2Tol     = 1e-11 // relative: the means of five numbers of five digits carry rounding of 1e-15, magnified by u/x ≈ 1e-3
	h2DataTol = 1e-12 // relative, for what is read off the data alone
)

func near(t *testing.T, what string, got, want, relTol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= relTol*math.Abs(want)) {
		t.Errorf("%s = %.14g, want %.14g within %g relative", what, got, want, relTol)
	}
}

func within(t *testing.T, what string, got, want, absTol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= absTol) {
		t.Errorf("%s = %.12g, want %.12g within %g", what, got, want, absTol)
	}
}

func h2Inputs(t *testing.T) *Inputs {
	t.Helper()
	means, cov, dof, err := MeanCov(h2Observations)
	if err != nil {
		t.Fatal(err)
	}
	in := new(Inputs)
	in.AddJoint("observations", means, cov, dof)
	return in
}

func TestH2Inputs(t *testing.T) {
	means, cov, dof, err := MeanCov(h2Observations)
	if err != nil {
		t.Fatal(err)
	}
	if dof != 4 {
		t.Errorf("dof = %g, want 4", dof)
	}
	// JCGM 100:2008, Table H.2, recomputed; half units of the printed figures behind.
	for i, want := range []struct{ mean, u, printedU, half float64 }{
		{4.999, 0.00320936130717624, 0.0032, 0.00005},
		{0.019661, 9.47100839404126e-06, 9.5e-06, 0.05e-6},
		{1.04446, 0.000752063827078527, 0.00075, 0.000005},
	} {
		u := math.Sqrt(cov.At(i, i))
		near(t, "mean", means[i], want.mean, h2DataTol)
		near(t, "u", u, want.u, h2DataTol)
		within(t, "u as printed", u, want.printedU, want.half)
	}
	for _, want := range []struct {
		i, j       int
		r, printed float64
	}{{0, 1, -0.355311219817511, -0.36}, {0, 2, 0.857624210839954, 0.86}, {1, 2, -0.645111217689245, -0.65}} {
		r := cov.At(want.i, want.j) / math.Sqrt(cov.At(want.i, want.i)*cov.At(want.j, want.j))
		near(t, "r", r, want.r, h2DataTol)
		within(t, "r as printed", r, want.printed, 0.005)
	}
}

// TestH2Approach1 is Table H.3: the means through the law of propagation.
func TestH2Approach1(t *testing.T) {
	for name, jacobian := range map[string]Jacobian{"differences": nil, "analytic": h2Jacobian} {
		t.Run(name, func(t *testing.T) {
			r, err := PropagateWith(h2Inputs(t), 3, h2Model, jacobian)
			if err != nil {
				t.Fatal(err)
			}
			for i, want := range []struct{ y, u, printed, printedU, tolU float64 }{
				{127.732169928102, 0.0710714073969959, 127.732, 0.071, 0.0005},
				// The Guide prints 0.295; full precision gives 0.29558: one unit.
				{219.846511912638, 0.295581677358644, 219.847, 0.295, 0.001},
				{254.259701948019, 0.23633613008238, 254.260, 0.236, 0.0005},
			} {
				near(t, "y", r.Y[i], want.y, h2Tol)
				near(t, "u", r.U(i), want.u, h2Tol)
				within(t, "y as printed", r.Y[i], want.printed, 0.0005)
				within(t, "u as printed", r.U(i), want.printedU, want.tolU)
				near(t, "effective degrees of freedom", r.Dof[i], 4, 1e-12)
			}
			near(t, "r(R,X)", r.Correlation(0, 1), -0.588429784423456, h2Tol)
			near(t, "r(R,Z)", r.Correlation(0, 2), -0.485259224209857, h2Tol)
			near(t, "r(X,Z)", r.Correlation(1, 2), 0.992511648949016, h2Tol)
			within(t, "r(R,X) as printed", r.Correlation(0, 1), -0.588, 0.0005)
			within(t, "r(R,Z) as printed", r.Correlation(0, 2), -0.485, 0.0005)
			within(t, "r(X,Z) as printed", r.Correlation(1, 2), 0.993, 0.0005)
			within(t, "t_95(4)·u(R)", func() float64 { low, high := r.Interval(0, 0.95); return (high - low) / 2 }(), 2.776445*0.0710714073969959, 1e-6)
		})
	}
}

func TestH2Sensitivities(t *testing.T) {
	r, err := Propagate(h2Inputs(t), 3, h2Model)
	if err != nil {
		t.Fatal(err)
	}
	want := [][]float64{ // closed forms of JCGM 100:2008, H.2.3 at the means
		{25.5515442944793, -6496.72803662591, -219.846511912638},
		{43.9780980021281, -11181.8580902619, 127.732169928102},
		{50.8621128121662, -12932.1856440679, 0},
	}
	for i := range want {
		for j, c := range want[i] {
			// Rounding 1e-16·|y|/h, h = u/8: at most 4e-12 of |y|/x here.
			within(t, "sensitivity", r.Sens.At(i, j), c, 1e-11*math.Max(math.Abs(c), 254))
		}
	}
}

// TestH2Approach2 is Table H.4: R, X and Z of each set, taken as observations.
func TestH2Approach2(t *testing.T) {
	columns := [][]float64{make([]float64, 5), make([]float64, 5), make([]float64, 5)}
	for k := range 5 {
		var y [3]float64
		h2Model(y[:], []float64{h2Observations[0][k], h2Observations[1][k], h2Observations[2][k]})
		for i := range y {
			columns[i][k] = y[i]
		}
	}
	means, cov, _, err := MeanCov(columns)
	if err != nil {
		t.Fatal(err)
	}
	r := func(i, j int) float64 { return cov.At(i, j) / math.Sqrt(cov.At(i, i)*cov.At(j, j)) }
	for i, want := range []struct{ y, u, printed, printedU float64 }{
		{127.731630482815, 0.071273543178597, 127.732, 0.071},
		{219.846894603292, 0.295489085610088, 219.847, 0.295},
		{254.260049586741, 0.23624750170398, 254.260, 0.236},
	} {
		near(t, "mean", means[i], want.y, h2Tol)
		near(t, "u", math.Sqrt(cov.At(i, i)), want.u, h2Tol)
		within(t, "mean as printed", means[i], want.printed, 0.0005)
		within(t, "u as printed", math.Sqrt(cov.At(i, i)), want.printedU, 0.0005)
	}
	near(t, "r(R,X)", r(0, 1), -0.588276855796925, h2Tol)
	near(t, "r(R,Z)", r(0, 2), -0.485064613663052, h2Tol)
	near(t, "r(X,Z)", r(1, 2), 0.992507542132031, h2Tol)
}

// TestH2Traps: figures rounded to what the Guide prints give a visibly different
// u(R), and leaving the correlations out gives a wrong u of either sign.
func TestH2Traps(t *testing.T) {
	means, cov, _, err := MeanCov(h2Observations)
	if err != nil {
		t.Fatal(err)
	}
	propagate := func(add func(in *Inputs)) *Result {
		in := new(Inputs)
		add(in)
		r, err := Propagate(in, 3, h2Model)
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	alone := propagate(func(in *Inputs) {
		for i, m := range means {
			in.Add("alone", m, math.Sqrt(cov.At(i, i)))
		}
	})
	u := []float64{0.0032, 9.5e-6, 0.00075}
	printed := mat.NewSymDense(3, []float64{1, -0.36, 0.86, -0.36, 1, -0.65, 0.86, -0.65, 1})
	for i := range u {
		for j := i; j < 3; j++ {
			printed.SetSym(i, j, printed.At(i, j)*u[i]*u[j])
		}
	}
	rounded := propagate(func(in *Inputs) { in.AddJoint("printed", means, printed, 4) })
	for i, want := range []struct{ alone, rounded float64 }{
		{0.194544454488579, 0.0699787279883718},
		{0.200909305927656, 0.295716826846124},
		{0.20407642544735, 0.236602972465295},
	} {
		near(t, "u without correlations", alone.U(i), want.alone, h2Tol)
		near(t, "u from rounded inputs", rounded.U(i), want.rounded, 1e-8)
	}
	near(t, "r(R,X) without correlations", alone.Correlation(0, 1), 0.0564812832858988, 1e-10)
	near(t, "r(X,Z) from rounded inputs", rounded.Correlation(1, 2), 0.992797472722227, 1e-10)
}
