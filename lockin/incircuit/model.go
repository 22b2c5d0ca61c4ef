package incircuit

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"example.org/wheatear/lockin/circuit"

	"example.org/wheatear/lockin/uncertain"
)

// Model is one assumption about the surroundings, fitted.
type Model struct {
	Around    Family
	Circuit   string // with its values, three digits each
	Value     uncertain.Quantity
	SeriesOhm float64 // of the part; NaN for a resistor
	ChiSquare float64
	Dof       int
	Chance    float64 // of a chi-square this large or larger if the model is true
	Fits      bool
	Weight    float64 // among those that fit, by Akaike's criterion; 0 for the others
	// Bounded is false where the sweep leaves the value open on one side.
	Bounded bool

	net *network
	x   []float64
	aic float64
}

const (
	badFit    = 0.005 // a chi-square less likely is no fit
	rise95    = 3.84  // of chi-square at the ends of a 95 % interval, one degree of freedom
	farthest  = 3.0   // logarithm of the factor up to which an interval is followed
	exactness = 1e-3  // of an end of an interval, in its own distance
)

// try fits one network and judges it. nominal, where it is above zero, decides which
// of two like branches is the part.
func (f *fitter) try(n *network, nominal float64) (*Model, error) {
	s, err := f.solve(n, math.NaN(), nil)
	if err != nil {
		return nil, err
	}
	m := &Model{Around: name(n.around), net: n, x: s.X, ChiSquare: s.Sum}
	twin, ok := n.swap(s.X)
	double := false // of a simpler network: with the part where it belongs, the branch is none
	if ok && nearer(twin, s.X, nominal) {
		double = n.extra || !n.within(twin)
		if !double {
			m.x = twin
		}
	}
	points, k := 2*len(f.sweep.FreqHz), len(n.unknowns)
	m.Dof = points - k
	m.Chance = 1
	if m.Dof > 0 {
		m.Chance = distuv.ChiSquared{K: float64(m.Dof)}.Survival(m.ChiSquare)
	}
	m.Fits = m.Chance > badFit && m.Dof > 0 && !double
	m.aic = m.ChiSquare + 2*float64(k)
	if spare := points - k - 1; spare > 0 {
		m.aic += 2 * float64(k*(k+1)) / float64(spare)
	}
	m.SeriesOhm = math.NaN()
	if n.own() > 1 && n.unknowns[1].name == "Rs" {
		m.SeriesOhm = math.Exp(m.x[1])
	}
	return m, nil
}

// nearer reports whether the twin is the likelier part: the one nearer to the
// nominal value, or without one the branch of less series resistance.
func nearer(twin, x []float64, nominal float64) bool {
	if nominal > 0 {
		goal := math.Log(nominal)
		return math.Abs(twin[0]-goal) < math.Abs(x[0]-goal)
	}
	return twin[1] < x[1]
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

// interval follows the profile of chi-square to both sides.
func (f *fitter) interval(m *Model) {
	value := math.Exp(m.x[0])
	low, lowEnd := f.end(m, -1)
	high, highEnd := f.end(m, 1)
	m.Bounded = lowEnd && highEnd
	m.Value = uncertain.Quantity{Value: value, Low: value * math.Exp(-low), High: value * math.Exp(high)}
	if !highEnd {
		m.Value.High = math.Inf(1)
	}
	if !lowEnd {
		m.Value.Low = 0
	}
	m.Value.U = value * (low + high) / 2 / 1.96
	m.Circuit = m.net.circuit(m.x)
}

// end is how far the logarithm of the value can move until chi-square has risen;
// ok is false where it never does.
func (f *fitter) end(m *Model, sign float64) (distance float64, ok bool) {
	// The excess over the rise as a function of the distance, with the other unknowns
	// following from where they were last.
	start := append([]float64(nil), m.x...)
	excess := func(d float64) float64 {
		s, err := f.solve(m.net, m.x[0]+sign*d, start)
		if err != nil {
			return math.Inf(1)
		}
		copy(start, s.X)
		return s.Sum - m.ChiSquare - rise95
	}
	inner, outer := 0.0, f.guessU(m)
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
		if outer-inner < 0.02*outer { // the profile is nearly a parabola by now
			break
		}
	}
	return (inner + outer) / 2, true
}

// guessU is a first guess of half the interval.
func (f *fitter) guessU(m *Model) float64 {
	const step = 1e-4
	p := f.problem(m.net, m.x[0]+step, m.x)
	s, err := circuit.Solve(p)
	if err != nil || !(s.Sum > m.ChiSquare) {
		return 1e-3
	}
	return math.Max(1e-6, math.Min(0.5, step*math.Sqrt(rise95/(s.Sum-m.ChiSquare))))
}

// Network is the impedance of part and surroundings together at a frequency.
func (m *Model) Network(freqHz float64) complex128 { return m.net.z(2*math.Pi*freqHz, m.x) }

// Part is the impedance of the part alone at a frequency.
func (m *Model) Part(freqHz float64) complex128 { return m.net.part(2*math.Pi*freqHz, m.x) }
