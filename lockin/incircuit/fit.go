package incircuit

import (
	"errors"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"sort"

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
	n := len(s.FreqHz)
	if n < 3 || len(s.Ohm) != n || s.Cov == nil || s.Cov.SymmetricDim() != 2*n {
		return errors.New("incircuit: a sweep of at least three frequencies, with the covariance of all real and imaginary parts, is needed")
	}
	for i, f := range s.FreqHz {
		if !(f > 0) || cmplx.IsNaN(s.Ohm[i]) || cmplx.IsInf(s.Ohm[i]) || s.Ohm[i] == 0 {
			return errors.New("incircuit: a sweep of finite impedances at frequencies above zero is needed")
		}
	}
	return nil
}

// fitter fits networks to one sweep.
type fitter struct {
	sweep *Sweep
	white *mat.TriDense // inverse of the lower Cholesky factor
	diff  []float64
}

func newFitter(s *Sweep) (*fitter, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	var chol mat.Cholesky
	if !chol.Factorize(s.Cov) {
		return nil, errors.New("incircuit: the covariance of the sweep is not positive definite")
	}
	var lower mat.TriDense
	chol.LTo(&lower)
	f := &fitter{sweep: s, white: new(mat.TriDense), diff: make([]float64, 2*len(s.FreqHz))}
	if err := f.white.InverseTri(&lower); err != nil {
		return nil, errors.New("incircuit: the covariance of the sweep is singular")
	}
	return f, nil
}

// residuals writes what a network leaves, in standard deviations without correlation.
func (f *fitter) residuals(n *network) func(dst, x []float64) {
	white := f.white.RawTriangular()
	return func(dst, x []float64) {
		for i, hz := range f.sweep.FreqHz {
			d := n.z(2*math.Pi*hz, x) - f.sweep.Ohm[i]
			f.diff[2*i], f.diff[2*i+1] = real(d), imag(d)
		}
		for row := range dst {
			from := row * white.Stride
			dst[row] = floats.Dot(white.Data[from:from+row+1], f.diff[:row+1])
		}
	}
}

// Starting values are drawn at random within the bounds; the best are followed.
const (
	draws    = 600
	followed = 6
	seed     = 0x5eed
)

// solve finds the least chi-square of a network. fixed holds the first unknown where
// it is a number.
func (f *fitter) solve(n *network, fixed float64, start []float64) (*circuit.Solution, error) {
	starts := [][]float64{start}
	if start == nil {
		starts = f.starts(n)
	}
	var best *circuit.Solution
	for _, x := range starts {
		s, err := circuit.Solve(f.problem(n, fixed, x))
		if err == nil && (best == nil || s.Sum < best.Sum) {
			best = s
		}
	}
	if best == nil {
		return nil, errors.New("incircuit: no starting values could be followed")
	}
	return best, nil
}

func (f *fitter) problem(n *network, fixed float64, x []float64) circuit.Problem {
	p := circuit.Problem{Residuals: f.residuals(n), Count: 2 * len(f.sweep.FreqHz), Start: append([]float64(nil), x...), Steps: 200, Tolerance: 1e-6}
	for _, u := range n.unknowns {
		p.Low, p.High = append(p.Low, u.low), append(p.High, u.high)
	}
	if !math.IsNaN(fixed) {
		p.Start[0], p.Low[0], p.High[0] = fixed, fixed, fixed
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
		cost := 0.0
		for k, hz := range f.sweep.FreqHz {
			d := cmplx.Log(n.z(2*math.Pi*hz, x) / f.sweep.Ohm[k])
			cost += real(d)*real(d) + imag(d)*imag(d)
		}
		pool[i] = guess{x, cost}
	}
	sort.SliceStable(pool, func(a, b int) bool { return pool[a].cost < pool[b].cost })
	var out [][]float64
	for _, g := range pool[:followed] {
		out = append(out, g.x)
	}
	return out
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
