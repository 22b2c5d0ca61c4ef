package incircuit

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"slices"
	"sort"

	"example.org/wheatear/lockin/internal/errkind"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"

	"example.org/wheatear/lockin/circuit"
	"example.org/wheatear/lockin/parts"
)

// Sweep is what was read: impedances over frequency with their covariance.
type Sweep struct {
	FreqHz []float64
	Ohm    []complex128
	Cov    mat.Symmetric // 2n × 2n in ohm²: Re and Im of the first, of the second, …
}

// sweepSpan is what a sweep covers.
type sweepSpan struct{ wLow, wHigh, zLow, zHigh float64 }

func (s *Sweep) span() sweepSpan {
	out := sweepSpan{math.Inf(1), 0, math.Inf(1), 0}
	for i, f := range s.FreqHz {
		w, z := 2*math.Pi*f, cmplx.Abs(s.Ohm[i])
		out.wLow, out.wHigh = math.Min(out.wLow, w), math.Max(out.wHigh, w)
		out.zLow, out.zHigh = math.Min(out.zLow, z), math.Max(out.zHigh, z)
	}
	return out
}

func (s *Sweep) check() error {
	if s == nil {
		s = &Sweep{}
	}
	n := len(s.FreqHz)
	if n < 3 || len(s.Ohm) != n || s.Cov == nil || s.Cov.SymmetricDim() != 2*n {
		return errkind.Errorf(ErrQuestion, "incircuit: a sweep of at least three frequencies, with the covariance of all real and imaginary parts, is needed")
	}
	for i, f := range s.FreqHz {
		if !(f > 0) || cmplx.IsNaN(s.Ohm[i]) || cmplx.IsInf(s.Ohm[i]) || s.Ohm[i] == 0 {
			return errkind.Errorf(ErrQuestion, "incircuit: a sweep of finite impedances at frequencies above zero is needed")
		}
	}
	return nil
}

// fitter fits networks to one sweep.
type fitter struct {
	sweep *Sweep
	white *mat.TriDense // inverse of the lower Cholesky factor
	bare  []float64     // unknowns of the part by itself; nil until it was fitted
}

func newFitter(s *Sweep) (*fitter, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	var chol mat.Cholesky
	if !chol.Factorize(s.Cov) {
		return nil, errkind.Errorf(ErrQuestion, "incircuit: the covariance of the sweep is not positive definite")
	}
	var lower mat.TriDense
	chol.LTo(&lower)
	f := &fitter{sweep: s, white: new(mat.TriDense)}
	if err := f.white.InverseTri(&lower); err != nil {
		return nil, errkind.Errorf(ErrQuestion, "incircuit: the covariance of the sweep is singular")
	}
	return f, nil
}

// residuals writes what a network leaves, in standard deviations without correlation.
func (f *fitter) residuals(n *network) func(dst, x []float64) {
	white, diff, v := f.white.RawTriangular(), make([]float64, 2*len(f.sweep.FreqHz)), make([]float64, len(n.unknowns))
	return func(dst, x []float64) {
		for k := range v {
			v[k] = math.Exp(x[k])
		}
		for i, hz := range f.sweep.FreqHz {
			d := n.z(2*math.Pi*hz, v) - f.sweep.Ohm[i]
			diff[2*i], diff[2*i+1] = real(d), imag(d)
		}
		for row := range dst {
			from := row * white.Stride
			dst[row] = floats.Dot(white.Data[from:from+row+1], diff[:row+1])
		}
	}
}

// Starting values are drawn at random within the bounds; the best are followed.
const (
	draws    = 600
	followed = 6
	seed     = 0x5eed
)

// free holds no unknown.
const free = -1

// minima finds the least chi-squares of a network, those apart from each other that no
// sweep prefers clearly, the least first.
func (f *fitter) minima(n *network) ([]*circuit.Solution, error) {
	var found []*circuit.Solution
	for _, x := range f.starts(n) {
		if s, err := circuit.Solve(f.problem(n, free, 0, x)); err == nil {
			found = append(found, s)
		}
	}
	if len(found) == 0 {
		return nil, errkind.Errorf(ErrQuestion, "incircuit: no starting values could be followed")
	}
	sort.SliceStable(found, func(a, b int) bool { return found[a].Sum < found[b].Sum })
	out := found[:1]
	for _, s := range found[1:] {
		if s.Sum > found[0].Sum+alike {
			break
		}
		if !slices.ContainsFunc(out, func(o *circuit.Solution) bool { return floats.Distance(o.X[:1], s.X[:1], 1) < 1e-2 }) {
			out = append(out, s)
		}
	}
	return out, nil
}

// alike is a difference of chi-square that tells nothing.
const alike = 6

// held is the least chi-square with unknown k at a value, followed from start.
func (f *fitter) held(n *network, k int, value float64, start []float64) (*circuit.Solution, error) {
	return circuit.Solve(f.problem(n, k, value, start))
}

func (f *fitter) problem(n *network, fixed int, value float64, x []float64) circuit.Problem {
	p := circuit.Problem{Residuals: f.residuals(n), Count: 2 * len(f.sweep.FreqHz), Start: append([]float64(nil), x...), Steps: 200, Tolerance: 1e-6}
	for _, u := range n.unknowns {
		p.Low, p.High = append(p.Low, u.low), append(p.High, u.high)
	}
	if fixed != free {
		p.Start[fixed], p.Low[fixed], p.High[fixed] = value, value, value
	}
	return p
}

// starts draws networks and keeps those whose impedance is nearest by its logarithm.
func (f *fitter) starts(n *network) [][]float64 {
	rng := rand.New(rand.NewPCG(seed, uint64(len(n.unknowns))))
	span := f.sweep.span()
	type guess struct {
		x    []float64
		cost float64
	}
	pool := make([]guess, draws)
	for i := range pool {
		x := n.draw(rng, span)
		cost, v := 0.0, values(x)
		for k, hz := range f.sweep.FreqHz {
			d := cmplx.Log(n.z(2*math.Pi*hz, v) / f.sweep.Ohm[k])
			cost += real(d)*real(d) + imag(d)*imag(d)
		}
		pool[i] = guess{x, cost}
	}
	sort.SliceStable(pool, func(a, b int) bool { return pool[a].cost < pool[b].cost })
	var out [][]float64
	for _, g := range pool[:followed] {
		out = append(out, g.x)
	}
	return append(out, f.added(n, rng)...)
}

// added are networks that add something small to the part by itself: those nearest by
// their real weights, in which a small branch shows that logarithms overlook.
func (f *fitter) added(n *network, rng *rand.Rand) [][]float64 {
	if f.bare == nil || len(n.unknowns) <= len(f.bare) {
		return nil
	}
	residuals, left := f.residuals(n), make([]float64, 2*len(f.sweep.FreqHz))
	type guess struct {
		x    []float64
		cost float64
	}
	var pool []guess
	for range draws {
		x := n.draw(rng, f.sweep.span())
		copy(x, f.bare)
		residuals(left, x)
		pool = append(pool, guess{x, floats.Dot(left, left)})
	}
	sort.SliceStable(pool, func(a, b int) bool { return pool[a].cost < pool[b].cost })
	return [][]float64{pool[0].x, pool[1].x, pool[2].x}
}

// draw gives each element the impedance of the sweep at a frequency of its own,
// within a factor of ten.
func (n *network) draw(rng *rand.Rand, s sweepSpan) []float64 {
	between := func(low, high float64) float64 { return math.Exp(math.Log(low) + rng.Float64()*math.Log(high/low)) }
	x := make([]float64, len(n.unknowns))
	for k, u := range n.unknowns {
		w, z := between(s.wLow, s.wHigh), between(s.zLow/10, s.zHigh*10)
		v := z
		switch u.unit {
		case parts.Farad:
			v = 1 / (w * z)
		case parts.Henry:
			v = z / w
		case parts.Hertz:
			v = w / (2 * math.Pi)
		}
		x[k] = math.Max(u.low, math.Min(u.high, math.Log(v)))
	}
	return x
}
