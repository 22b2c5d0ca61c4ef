package uncertain

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// ErrInput is wrapped by every complaint about an input.
var ErrInput = errors.New("input cannot be used")

// Inputs is an ordered list of random inputs. The zero value is empty and ready
// to use. Filling it never fails: the first thing that cannot be an input is
// kept and returned by Err, Propagate and MonteCarlo. Not safe for concurrent
// use while it is being filled; safe afterwards.
type Inputs struct {
	values []float64
	groups []group
	err    error
}

// group is one scalar input or one jointly normal block. Its deviations are
// factor·z, z of rank independent variables of unit variance.
type group struct {
	label     string
	first, n  int       // the inputs first … first+n−1
	factor    []float64 // n × rank, by rows; factor·factorᵀ is the covariance
	rank      int
	dof       float64 // +Inf where u is known
	shape     Shape
	beta      float64 // trapezoidal only
	low, high float64 // logUniform only
}

// Add appends a scalar input with estimate value and standard uncertainty u and
// returns its index. Without options it is normal with u known; a Shape or
// Trapezoid changes the distribution, a Dof makes it Student's t. u = 0 makes it
// exact. Inputs that share a label are one line in a budget.
func (in *Inputs) Add(label string, value, u float64, options ...Option) int {
	g := group{label: label, first: len(in.values), n: 1}
	for _, o := range options {
		if o != nil {
			o.refine(&g)
		}
	}
	if g.dof == 0 {
		g.dof = math.Inf(1)
	}
	if u > 0 {
		g.factor, g.rank = []float64{u}, 1
	}
	in.keep(g, checkScalar(&g, value, u), value)
	return g.first
}

// AddLogUniform appends an input whose logarithm is uniform between low and
// high, both positive: a quantity of which only the order of magnitude is known.
// The estimate and u are the distribution's mean and standard deviation,
//
//	(b−a)/ln(b/a)   and   √((b²−a²)/(2 ln(b/a)) − mean²)
//
// Where the model is far from linear between low and high, use MonteCarlo, or
// make the logarithm a rectangular input.
func (in *Inputs) AddLogUniform(label string, low, high float64) int {
	g := group{label: label, first: len(in.values), n: 1, dof: math.Inf(1), shape: logUniform, low: low, high: high}
	if !(low > 0) || !(high >= low) || math.IsInf(high, 0) {
		in.keep(g, fmt.Errorf("log-uniform limits %g and %g must be positive, finite and in order", low, high), 0)
		return g.first
	}
	mean, u := logUniformMoments(low, high)
	if u > 0 {
		g.factor, g.rank = []float64{u}, 1
	}
	in.keep(g, nil, mean)
	return g.first
}

// AddJoint appends jointly normal inputs with covariance cov (in the units of
// the values, ordered as they are) and returns the index of the first. dof is
// the number of degrees of freedom of the whole covariance matrix; where it is
// finite the block is multivariate t in MonteCarlo. cov may be singular but must
// be positive semidefinite.
func (in *Inputs) AddJoint(label string, values []float64, cov mat.Symmetric, dof float64) int {
	g := group{label: label, first: len(in.values), n: len(values), dof: dof}
	if dof == 0 {
		g.dof = math.Inf(1)
	}
	err := checkJoint(&g, values, cov)
	if err == nil {
		g.factor, g.rank, err = semidefiniteFactor(cov)
	}
	in.keep(g, err, values...)
	return g.first
}

// AddComplex appends complex inputs with covariance cov, ordered Re 1, Im 1,
// Re 2, Im 2, …, as one jointly normal block; see AddJoint. It returns the index
// of the first real part.
func (in *Inputs) AddComplex(label string, values []complex128, cov mat.Symmetric, dof float64) int {
	flat := make([]float64, 0, 2*len(values))
	for _, z := range values {
		flat = append(flat, real(z), imag(z))
	}
	return in.AddJoint(label, flat, cov, dof)
}

// Len returns the number of inputs.
func (in *Inputs) Len() int { return len(in.values) }

// Values returns a copy of the estimates, in order.
func (in *Inputs) Values() []float64 { return append([]float64(nil), in.values...) }

// Err returns the first complaint about an input, or nil.
func (in *Inputs) Err() error { return in.err }

// U returns the standard uncertainty of input i.
func (in *Inputs) U(i int) float64 {
	for k := range in.groups {
		if g := &in.groups[k]; i >= g.first && i < g.first+g.n {
			return g.uOf(i - g.first)
		}
	}
	return math.NaN()
}

func (in *Inputs) keep(g group, err error, values ...float64) {
	if err != nil && in.err == nil {
		in.err = fmt.Errorf("uncertain: %q (number %d): %w: %w", g.label, g.first, ErrInput, err)
	}
	if err != nil {
		g.factor, g.rank = nil, 0
	}
	in.values = append(in.values, values...)
	in.groups = append(in.groups, g)
}

// uOf returns the standard uncertainty of the group's member k.
func (g *group) uOf(k int) float64 {
	sum := 0.0
	for _, f := range g.factor[k*g.rank : (k+1)*g.rank] {
		sum += f * f
	}
	return math.Sqrt(sum)
}

// u returns the standard uncertainty of a scalar group.
func (g *group) u() float64 { return g.uOf(0) }

func checkScalar(g *group, value, u float64) error {
	switch {
	case !finite(value):
		return fmt.Errorf("the value is %g; give a finite one", value)
	case !finite(u) || u < 0:
		return fmt.Errorf("the standard uncertainty is %g; give a finite one that is not negative", u)
	case g.shape > trapezoidal:
		return fmt.Errorf("shape %d is not one to choose here", g.shape)
	case g.shape == trapezoidal && !(g.beta >= 0 && g.beta <= 1):
		return fmt.Errorf("the trapezoid's ratio of top to base is %g; it lies between 0 and 1", g.beta)
	case g.shape != Normal && !math.IsInf(g.dof, 1):
		return fmt.Errorf("degrees of freedom (%g) belong to a normal input", g.dof)
	}
	return checkDof(g.dof)
}

func checkJoint(g *group, values []float64, cov mat.Symmetric) error {
	if len(values) == 0 || cov == nil || cov.SymmetricDim() != len(values) {
		return fmt.Errorf("%d values need a covariance matrix of as many rows", len(values))
	}
	for i, v := range values {
		if !finite(v) {
			return fmt.Errorf("value %d is %g; give a finite one", i, v)
		}
	}
	return checkDof(g.dof)
}

func checkDof(dof float64) error {
	if !(dof >= 1) {
		return fmt.Errorf("%g degrees of freedom are too few; at least 1, or 0 for a known uncertainty", dof)
	}
	return nil
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// logUniformMoments returns mean and standard deviation of exp(uniform) between
// low and high. For a narrow range it is rectangular to second order, where the
// difference of squares would cancel.
func logUniformMoments(low, high float64) (mean, u float64) {
	ratio := logRatio(low, high)
	if ratio < 1e-4 {
		return (low + high) / 2, Rectangular.U((high - low) / 2)
	}
	mean = (high - low) / ratio
	// Scaled by the mean so that no square overflows.
	a, b := low/mean, high/mean
	return mean, mean * math.Sqrt(math.Max(0, (b-a)*(b+a)/(2*ratio)-1))
}

// logRatio is ln(high/low), also where the quotient overflows.
func logRatio(low, high float64) float64 {
	if q := high / low; !math.IsInf(q, 0) {
		return math.Log(q)
	}
	return math.Log(high) - math.Log(low)
}
