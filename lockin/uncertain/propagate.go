package uncertain

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// ErrOutputs is wrapped where a model is asked for no outputs, or is missing.
var ErrOutputs = errors.New("model cannot be used")

// Func is a model: it writes the outputs that belong to the inputs x into dst.
// It must not keep or change x, and must set every element of dst.
type Func func(dst, x []float64)

// Jacobian writes the sensitivities ∂y_i/∂x_j at x into dst, outputs × inputs,
// which is zero on entry.
type Jacobian func(dst *mat.Dense, x []float64)

// Result is what the law of propagation gives for every output together.
type Result struct {
	Y    []float64     // the model at the estimates of the inputs
	Cov  *mat.SymDense // covariance of the outputs
	Dof  []float64     // effective degrees of freedom; +Inf where every u is known
	Sens *mat.Dense    // ∂y/∂x, outputs × inputs; 0 for inputs that are exact

	groups []group
}

// Propagate puts the inputs through f by the law of propagation of uncertainty:
//
//	y = f(x),  V_y = C V_x Cᵀ,  c_ij = ∂f_i/∂x_j
//
// with sensitivities from central differences over ±u/8 and ±u/4: four calls of
// f for each input that is not exact. Their truncation is of fourth order; their
// rounding adds to u(y) no more than about 10⁻¹⁵ |y| per input.
//
// An output that is not finite at x or within u/4 of it has NaN for its value
// or its uncertainty, and the others stand.
//
// Errors: inputs that Inputs.Err complains of, fewer than one output or more than 5000, f nil.
// Reference: JCGM 100:2008, 5.1.2 and 5.2.2; JCGM 102:2011, 6.2.
func Propagate(in *Inputs, outputs int, f Func) (*Result, error) {
	return PropagateWith(in, outputs, f, nil)
}

// PropagateWith is Propagate with the sensitivities given by jacobian; nil falls
// back on differences.
func PropagateWith(in *Inputs, outputs int, f Func, jacobian Jacobian) (*Result, error) {
	if err := checkModel(in, outputs, f); err != nil {
		return nil, err
	}
	if len(in.values) == 0 {
		return nil, fmt.Errorf("uncertain: %w: there are no inputs", ErrInput)
	}
	r := &Result{Y: make([]float64, outputs), Sens: mat.NewDense(outputs, len(in.values), nil), groups: in.groups}
	x := in.Values()
	f(r.Y, x)
	if jacobian != nil {
		jacobian(r.Sens, x)
	} else {
		differences(r.Sens, in, f)
	}
	r.combine()
	return r, nil
}

// maxOutputs and maxDrawn keep a slip from taking the machine: a covariance of 200 MB, and
// 1 GB of drawn outputs.
const (
	maxOutputs = 5000
	maxDrawn   = 1 << 27
)

func checkModel(in *Inputs, outputs int, f Func) error {
	switch {
	case in == nil:
		return fmt.Errorf("uncertain: %w: there are no inputs", ErrInput)
	case in.err != nil:
		return in.err
	case f == nil || outputs < 1 || outputs > maxOutputs:
		return fmt.Errorf("uncertain: %w: it needs a function and from one to %d outputs, not %d", ErrOutputs, maxOutputs, outputs)
	}
	return nil
}

// combine works out Cov and Dof from the sensitivities.
func (r *Result) combine() {
	outputs := len(r.Y)
	r.Cov = mat.NewSymDense(outputs, nil)
	weak := make([]float64, outputs) // Σ u_g⁴/ν_g of the Welch–Satterthwaite formula
	for k := range r.groups {
		g := &r.groups[k]
		rows := r.through(g)
		for i, a := range rows {
			for j := i; j < outputs; j++ {
				r.Cov.SetSym(i, j, r.Cov.At(i, j)+dot(a, rows[j]))
			}
			v := dot(a, a)
			weak[i] += v * v / g.dof
		}
	}
	r.Dof = make([]float64, outputs)
	for i := range outputs {
		if !finite(r.Y[i]) {
			r.void(i)
		}
		r.Dof[i] = effectiveDof(r.Cov.At(i, i), weak[i])
	}
}

// void marks everything about an output that does not exist.
func (r *Result) void(i int) {
	r.Y[i] = math.NaN()
	for j := range r.Y {
		r.Cov.SetSym(i, j, math.NaN())
	}
}

// through returns Sens·factor of one group: for every output its deviations per
// unit of the group's independent variables.
func (r *Result) through(g *group) [][]float64 {
	rows := make([][]float64, len(r.Y))
	for i := range rows {
		rows[i] = make([]float64, g.rank)
		for k := range g.n {
			c := r.Sens.At(i, g.first+k)
			for m := range g.rank {
				rows[i][m] += c * g.factor[k*g.rank+m]
			}
		}
	}
	return rows
}

// effectiveDof is the Welch–Satterthwaite formula u⁴/Σ(u_g⁴/ν_g), not cut to an
// integer; a jointly estimated block counts with its variance cᵀVc and its one
// ν. Reference: JCGM 100:2008, G.4.1.
func effectiveDof(variance, weak float64) float64 {
	if weak == 0 {
		return math.Inf(1)
	}
	return variance * variance / weak
}

// has reports whether there is an output i.
func (r *Result) has(i int) bool {
	return r.Cov != nil && i >= 0 && i < len(r.Y) && i < r.Cov.SymmetricDim()
}

// U returns the standard uncertainty of output i; NaN where there is none.
func (r *Result) U(i int) float64 {
	if !r.has(i) {
		return math.NaN()
	}
	return math.Sqrt(r.Cov.At(i, i))
}

// Correlation returns the correlation coefficient of two outputs; NaN where one
// of them has no uncertainty.
func (r *Result) Correlation(i, j int) float64 {
	if !r.has(i) || !r.has(j) {
		return math.NaN()
	}
	return r.Cov.At(i, j) / r.U(i) / r.U(j)
}

// Quantity returns output i with its 95 % interval.
func (r *Result) Quantity(i int) Quantity {
	if !r.has(i) {
		return Absent()
	}
	low, high := r.Interval(i, 0.95)
	return Quantity{Value: r.Y[i], U: r.U(i), Low: low, High: high}
}

func dot(a, b []float64) float64 {
	sum := 0.0
	for i := range a {
		sum += a[i] * b[i]
	}
	return sum
}
