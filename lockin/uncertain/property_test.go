package uncertain

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"
)

// drawCov makes a covariance matrix A·Aᵀ of random rank with unlike scales, none
// so small that its square is not a normal float64.
func drawCov(t *rapid.T, n int) *mat.SymDense {
	rank := rapid.IntRange(1, n).Draw(t, "rank")
	a := mat.NewDense(n, rank, nil)
	for i := range n {
		scale := math.Pow(10, rapid.Float64Range(-2, 0).Draw(t, "scale"))
		for j := range rank {
			a.Set(i, j, scale*float64(rapid.IntRange(-1000, 1000).Draw(t, "a"))/1000)
		}
	}
	var cov mat.SymDense
	cov.SymOuterK(1, a)
	return &cov
}

// drawInputs makes scalars of every shape and a block, all with u of at most 1.
func drawInputs(t *rapid.T) *Inputs {
	in := new(Inputs)
	options := []Option{Normal, Rectangular, Triangular, Arcsine, Trapezoid(0.3), Dof(40)}
	for range rapid.IntRange(1, 4).Draw(t, "scalars") {
		u := math.Pow(10, rapid.Float64Range(-2, 0).Draw(t, "log u"))
		label := rapid.SampledFrom([]string{"a", "b", "c"}).Draw(t, "label")
		in.Add(label, rapid.Float64Range(-2, 2).Draw(t, "value"), u, rapid.SampledFrom(options).Draw(t, "shape"))
	}
	n := rapid.IntRange(1, 3).Draw(t, "block")
	values := make([]float64, n)
	for i := range values {
		values[i] = rapid.Float64Range(-2, 2).Draw(t, "value")
	}
	in.AddJoint("block", values, drawCov(t, n), rapid.SampledFrom([]float64{0, 40}).Draw(t, "dof"))
	return in
}

// smooth is a random model: y_i = Σ_j a_ij x_j + bend·sin(Σ_j b_ij x_j), with its
// sensitivities.
type smooth struct {
	a, b *mat.Dense
	bend float64
}

func drawSmooth(t *rapid.T, outputs, inputs int, bend float64) smooth {
	s := smooth{mat.NewDense(outputs, inputs, nil), mat.NewDense(outputs, inputs, nil), bend}
	for i := range outputs {
		for j := range inputs {
			s.a.Set(i, j, rapid.Float64Range(-3, 3).Draw(t, "slope"))
			s.b.Set(i, j, rapid.Float64Range(-1, 1).Draw(t, "bend"))
		}
	}
	return s
}

func (s smooth) f(dst, x []float64) {
	for i := range dst {
		dst[i] = dot(s.a.RawRowView(i), x) + s.bend*math.Sin(dot(s.b.RawRowView(i), x))
	}
}

func (s smooth) jacobian(dst *mat.Dense, x []float64) {
	outputs, inputs := dst.Dims()
	for i := range outputs {
		cos := s.bend * math.Cos(dot(s.b.RawRowView(i), x))
		for j := range inputs {
			dst.Set(i, j, s.a.At(i, j)+cos*s.b.At(i, j))
		}
	}
}

// TestPropagationProperties: differences agree with the analytic sensitivities,
// the covariance is C V Cᵀ and positive semidefinite, shares add up to one, and
// the interval holds the value.
func TestPropagationProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := drawInputs(t)
		model := drawSmooth(t, 3, in.Len(), 1)
		r, err := PropagateWith(in, 3, model.f, model.jacobian)
		if err != nil {
			t.Fatal(err)
		}
		numeric, err := Propagate(in, 3, model.f)
		if err != nil {
			t.Fatal(err)
		}
		for i := range 3 {
			// (u/8)⁴/30·|b|⁵ of truncation at most, against slopes and u of order 1; rounding 1e-13.
			if d := math.Abs(numeric.U(i) - r.U(i)); d > 1e-4*r.U(i)+1e-5 {
				t.Errorf("u(%d) = %g by differences, %g", i, numeric.U(i), r.U(i))
			}
			total := 0.0
			for _, c := range r.Budget(i) {
				total += c.Share
			}
			if r.U(i) > 0 && math.Abs(total-1) > 1e-12 {
				t.Errorf("shares of output %d add up to %g", i, total)
			}
			if low, high := r.Interval(i, 0.95); !(low <= r.Y[i] && r.Y[i] <= high) {
				t.Errorf("interval %g to %g of %g", low, high, r.Y[i])
			}
			if r.Dof[i] < 39.99 { // no input has fewer than 40
				t.Errorf("ν_eff = %g", r.Dof[i])
			}
		}
		var eigen mat.EigenSym
		if !eigen.Factorize(r.Cov, false) {
			t.Fatal("no eigenvalues")
		}
		if least := eigen.Values(nil)[0]; least < -1e-13*mat.Trace(r.Cov) {
			t.Errorf("covariance has the eigenvalue %g", least)
		}
	})
}

// TestPropagationAgainstMonteCarlo: an almost linear model has the same mean, u
// and correlation both ways.
func TestPropagationAgainstMonteCarlo(t *testing.T) {
	const trials = 20000
	rapid.Check(t, func(t *rapid.T) {
		in := drawInputs(t)
		model := drawSmooth(t, 2, in.Len(), 0.01)
		r, err := Propagate(in, 2, model.f)
		if err != nil {
			t.Fatal(err)
		}
		s, err := MonteCarlo(in, 2, model.f, trials, rapid.Uint64().Draw(t, "seed"))
		if err != nil {
			t.Fatal(err)
		}
		for i := range 2 {
			// Statistical: 6/√M of u for the mean, 6/√(2M) with a kurtosis of up to
			// 3.2, and 2.6 % that 40 degrees of freedom widen t; the bend moves the
			// mean by 0.01 at most.
			if d := math.Abs(s.Mean(i) - r.Y[i]); d > 0.043*r.U(i)+0.01 {
				t.Errorf("mean %g, want %g, u %g", s.Mean(i), r.Y[i], r.U(i))
			}
			if d := math.Abs(s.U(i) - r.U(i)); d > 0.07*r.U(i)+0.01 {
				t.Errorf("u %g, want %g", s.U(i), r.U(i))
			}
		}
		if r.U(0) > 0.5 && r.U(1) > 0.5 {
			if d := math.Abs(s.Correlation(0, 1) - r.Correlation(0, 1)); d > 0.1 {
				t.Errorf("correlation %g, want %g", s.Correlation(0, 1), r.Correlation(0, 1))
			}
		}
	})
}

// TestFormatProperties: text reads back to the value within its last place, and
// shows no digit that u does not carry.
func TestFormatProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		value := rapid.Float64Range(-10, 10).Draw(t, "mantissa") * math.Pow(10, rapid.Float64Range(-16, 16).Draw(t, "decade"))
		u := math.Abs(value)*math.Pow(10, rapid.Float64Range(-12, 4).Draw(t, "relative")) + 1e-30
		unit := rapid.SampledFrom([]string{"Ω", "F", "Hz", ""}).Draw(t, "unit")
		if err := checkFormat(value, u, Format(value, u, unit)); err != nil {
			t.Error(err)
		}
	})
}

// TestFactorProperties: every covariance matrix made as A·Aᵀ is taken, and given
// back by its factor.
func TestFactorProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 6).Draw(t, "n")
		cov := drawCov(t, n)
		factor, rank, err := semidefiniteFactor(cov)
		if err != nil {
			t.Fatal(err)
		}
		for i := range n {
			for j := range n {
				got := dot(factor[i*rank:(i+1)*rank], factor[j*rank:(j+1)*rank])
				if d := math.Abs(got - cov.At(i, j)); d > 5*semidefiniteTol*math.Sqrt(cov.At(i, i)*cov.At(j, j)) {
					t.Errorf("L·Lᵀ(%d, %d) = %g, want %g", i, j, got, cov.At(i, j))
				}
			}
		}
	})
}
