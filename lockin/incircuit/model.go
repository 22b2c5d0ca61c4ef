package incircuit

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"example.org/wheatear/lockin/circuit"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/uncertain"
)

// Model is one assumption about the surroundings, fitted: a network, and which of its
// branches is the part.
type Model struct {
	Around Family
	// Leaks says that a resistor lies across the capacitance or the inductance of the
	// part itself, inside of its series resistance.
	Leaks     bool
	Circuit   string // with its values, three digits each
	Value     uncertain.Quantity
	Series    uncertain.Quantity // resistance in series in the part, in ohm; absent for a resistor
	ChiSquare float64
	Dof       int
	Chance    float64 // of a chi-square this large or larger if the model is true
	Fits      bool
	Weight    float64 // among those that fit, see [Ask]; 0 for the others
	// Bounded is false where the sweep leaves the value open on one side.
	Bounded bool

	net   *network
	x     []float64
	score float64 // −2 ln of its probability, but for a constant
}

const (
	badFit    = 0.005 // a chi-square less likely is no fit
	rise95    = 5.99  // of chi-square at the ends of intervals that hold value and series resistance at once with 95 %
	farthest  = 3.0   // logarithm of the factor up to which an interval is followed
	exactness = 0.02  // of an end of an interval, in its own distance
	// spread is the standard deviation of the logarithm of an element before anything
	// is read: a factor of 20 either way. Common practice, no source.
	spread = 3.0
	// dearBranch is the price of a branch: it is 4.5 times less likely that a part on a board has one
	// more of a family. Common practice, no source.
	dearBranch = 3.0
)

// try fits a network and makes a model of each of its minima. Where another branch is
// of the same kind as the part, the two may also be exchanged.
func (f *fitter) try(n *network) []*Model {
	found, err := f.minima(n)
	if err != nil {
		return nil
	}
	var out []*Model
	for _, s := range found {
		out = append(out, f.model(n, s))
		if twin, ok := n.swap(s.X); ok && n.within(twin) {
			if t, err := circuit.Solve(f.problem(n, free, 0, twin)); err == nil && t.Sum < s.Sum+alike && math.Abs(t.X[0]-s.X[0]) > 1e-3 {
				out = append(out, f.model(n, t))
			}
		}
	}
	return distinct(out)
}

// distinct drops models with a part that another has already.
func distinct(list []*Model) []*Model {
	var out []*Model
	for _, m := range list {
		known := false
		for _, o := range out {
			known = known || math.Abs(o.x[0]-m.x[0]) < 1e-3 && math.Abs(o.x[len(o.x)-1]-m.x[len(m.x)-1]) < 1e-2
		}
		if !known {
			out = append(out, m)
		}
	}
	return out
}

// model judges a solution.
func (f *fitter) model(n *network, s *circuit.Solution) *Model {
	m := &Model{Around: name(n.around), Leaks: n.leaks, net: n, x: s.X, ChiSquare: s.Sum, Value: uncertain.Absent(), Series: uncertain.Absent()}
	m.Dof = 2*len(f.sweep.FreqHz) - len(n.unknowns)
	m.Chance = 1
	if m.Dof > 0 {
		m.Chance = distuv.ChiSquared{K: float64(m.Dof)}.Survival(m.ChiSquare)
	}
	m.Fits = m.Chance > badFit && m.Dof > 0
	m.score = m.ChiSquare + volume(s.Jacobian, len(s.X), free) + dearBranch*float64(n.branches())
	return m
}

// volume is how much the sweep narrows the unknowns down, but for one that is held:
// ln det(1 + spread²·JᵀJ). With chi-square it makes −2 ln of the probability of a
// network, whatever its unknowns are (Laplace's approximation): what must be tuned
// finely to fit is improbable, and what the sweep does not feel costs nothing.
//
// Source: MacKay, Information Theory, Inference, and Learning Algorithms, 2003,
// chapter 28 (from memory).
func volume(jacobian []float64, n, held int) float64 {
	var keep []int
	for k := range n {
		if k != held {
			keep = append(keep, k)
		}
	}
	if len(keep) == 0 {
		return 0
	}
	rows := len(jacobian) / n
	a := mat.NewSymDense(len(keep), nil)
	for i, p := range keep {
		for j, q := range keep[i:] {
			sum := 0.0
			for r := range rows {
				sum += jacobian[r*n+p] * jacobian[r*n+q]
			}
			a.SetSym(i, i+j, spread*spread*sum)
		}
		a.SetSym(i, i, a.At(i, i)+1)
	}
	var chol mat.Cholesky
	if !chol.Factorize(a) {
		return math.Inf(1)
	}
	return chol.LogDet()
}

// within reports whether values lie within the bounds.
func (n *network) within(x []float64) bool {
	for k, u := range n.unknowns {
		if x[k] < u.low-1e-9 || x[k] > u.high+1e-9 {
			return false
		}
	}
	return true
}

// intervals finds those of the value and of the series resistance.
func (f *fitter) intervals(m *Model) {
	m.Circuit = m.net.circuit(m.x)
	var lowEnd, highEnd bool
	m.Value, lowEnd, highEnd = f.interval(m, 0)
	m.Bounded = lowEnd && highEnd
	if m.net.kind != impedance.Resistor {
		m.Series, _, _ = f.interval(m, 1)
	}
}

// interval follows unknown k to both sides.
func (f *fitter) interval(m *Model, k int) (q uncertain.Quantity, lowEnd, highEnd bool) {
	value := math.Exp(m.x[k])
	low, lowEnd := f.end(m, k, -1)
	high, highEnd := f.end(m, k, 1)
	q = uncertain.Quantity{Value: value, Low: value * math.Exp(-low), High: value * math.Exp(high), U: value * (low + high) / 2 / 1.96}
	if !highEnd {
		q.High = math.Inf(1)
	}
	if !lowEnd {
		q.Low = 0
	}
	return q, lowEnd, highEnd
}

// end is how far the logarithm of unknown k can move until it is improbable: until
// chi-square, with what the other unknowns must be tuned to, has risen; ok is false
// where it never does.
func (f *fitter) end(m *Model, k int, sign float64) (distance float64, ok bool) {
	start := append([]float64(nil), m.x...)
	least := math.NaN()
	excess := func(d float64) float64 {
		s, err := f.held(m.net, k, m.x[k]+sign*d, start)
		if err != nil {
			return math.Inf(1)
		}
		copy(start, s.X)
		v := s.Sum + volume(s.Jacobian, len(s.X), k)
		if math.IsNaN(least) {
			least = v
		}
		least = math.Min(least, v)
		return v - least - rise95
	}
	excess(0)
	inner, outer := 0.0, f.guessU(m, k)
	for excess(outer) < 0 {
		inner = outer
		outer *= 1.7
		if outer > farthest {
			return farthest, false
		}
	}
	for outer-inner > exactness*outer {
		middle := (inner + outer) / 2
		if excess(middle) < 0 {
			inner = middle
		} else {
			outer = middle
		}
	}
	return outer, true
}

// guessU is a first guess of half the interval.
func (f *fitter) guessU(m *Model, k int) float64 {
	const step = 1e-4
	s, err := f.held(m.net, k, m.x[k]+step, m.x)
	if err != nil || !(s.Sum > m.ChiSquare) {
		return 1e-3
	}
	return math.Max(1e-6, math.Min(0.5, step*math.Sqrt(rise95/(s.Sum-m.ChiSquare))))
}

// Network is the impedance of part and surroundings together at a frequency.
func (m *Model) Network(freqHz float64) complex128 {
	if len(m.x) == 0 {
		return cmplx.NaN()
	}
	return m.net.z(2*math.Pi*freqHz, values(m.x))
}

// Part is the impedance of the part alone at a frequency.
func (m *Model) Part(freqHz float64) complex128 {
	if len(m.x) == 0 {
		return cmplx.NaN()
	}
	return m.net.part(2*math.Pi*freqHz, values(m.x))
}
