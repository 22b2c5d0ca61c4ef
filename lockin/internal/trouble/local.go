package trouble

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// modelTones is how many tones of a record with many the local model holds; the
// others count as noise.
const modelTones = 8

// sines is a local model of one channel: dc + Σ Re z exp(j2π·turns·n), n = frame
// of the record.
type sines struct {
	turns    []float64
	dc       float64
	z        []complex128
	variance float64 // of the residual over the samples fitted
}

// fitSines fits offset and tones to x[from:to] by least squares (normal equations;
// a trifle on the diagonal keeps tones that the stretch cannot tell apart finite).
// ok is false for stretches too short for the number of unknowns.
func fitSines(x []float64, from, to int, turns []float64) (s sines, ok bool) {
	n, p := to-from, 2*len(turns)+1
	if n < 2*p {
		return sines{}, false
	}
	gram, rhs := normalEquations(x[from:to], turns)
	var chol mat.Cholesky
	if !chol.Factorize(gram) {
		return sines{}, false
	}
	c := mat.NewVecDense(p, nil)
	if err := chol.SolveVecTo(c, rhs); err != nil {
		return sines{}, false
	}
	s = sines{turns: turns, dc: c.AtVec(0), z: make([]complex128, len(turns))}
	for i, t := range turns { // x = a cos + b sin is Re (a − jb) e^(jωn), from frame 0
		s.z[i] = complex(c.AtVec(1+2*i), -c.AtVec(2+2*i)) * turnTo(t, -from)
	}
	rss := 0.0
	for _, r := range s.residual(x, from, to) {
		rss += r * r
	}
	s.variance = rss / float64(n-p)
	return s, true
}

// normalEquations accumulates products of the columns 1, cos, sin, … over x.
func normalEquations(x []float64, turns []float64) (*mat.SymDense, *mat.VecDense) {
	p := 2*len(turns) + 1
	g, r, col := make([]float64, p*p), make([]float64, p), make([]float64, p)
	now, step := make([]complex128, len(turns)), make([]complex128, len(turns))
	for i, t := range turns {
		now[i], step[i] = 1, turnTo(t, 1)
	}
	col[0] = 1
	for _, v := range x {
		for i, z := range now {
			col[1+2*i], col[2+2*i] = real(z), imag(z)
			now[i] = z * step[i]
		}
		for i, a := range col {
			r[i] += a * v
			row := g[i*p : i*p+i+1]
			for j := range row {
				row[j] += a * col[j]
			}
		}
	}
	gram := mat.NewSymDense(p, nil)
	for i := 0; i < p; i++ {
		for j := 0; j <= i; j++ {
			gram.SetSym(i, j, g[i*p+j])
		}
		gram.SetSym(i, i, g[i*p+i]+1e-9*float64(len(x)))
	}
	return gram, mat.NewVecDense(p, r)
}

// residual returns x − model over [from, to).
func (s sines) residual(x []float64, from, to int) []float64 {
	out := append([]float64(nil), x[from:to]...)
	for i := range out {
		out[i] -= s.dc
	}
	for i, t := range s.turns {
		z, step := s.z[i]*turnTo(t, from), turnTo(t, 1)
		for k := range out {
			out[k] -= real(z)
			z *= step
		}
	}
	return out
}

// changePoint splits a stretch into samples that belong to a left model, samples
// that belong to none, and samples that belong to a right model, with the least
// total cost: left and right hold the cost of each sample under either model, a
// sample that belongs to none costs void, and having any such costs extra once.
// It returns the first sample that is not left's and the first that is right's.
func changePoint(left, right []float64, void, extra float64) (p, q int, cost float64) {
	n := len(left)
	total := 0.0
	for _, c := range right {
		total += c
	}
	// direct: switch at i. open: least cost of having left before some p <= i, with void from p to i.
	sumLeft, sumRight := 0.0, 0.0
	open, openAt := math.Inf(1), 0
	cost = math.Inf(1)
	for i := 0; i <= n; i++ {
		rest := total - sumRight
		if c := sumLeft + rest; c < cost {
			p, q, cost = i, i, c
		}
		if c := open + extra + rest; c < cost {
			p, q, cost = openAt, i, c
		}
		if i == n {
			break
		}
		if sumLeft < open {
			open, openAt = sumLeft, i
		}
		open += void
		sumLeft += left[i]
		sumRight += right[i]
	}
	return p, q, cost
}
