package joint

import (
	"math"

	"example.org/wheatear/lockin/internal/num"
	"gonum.org/v1/gonum/mat"
)

// gram is the normal matrix of the linear parameters. Because time counts from
// the middle, cosines (with the even polynomials) and sines (with the odd ones)
// are orthogonal, and two matrices of half the size do. Columns of even: one
// cosine per line, then P0, P2; of odd: one minus sine per line, then P1.
type gram struct {
	lines, degree int
	even, odd     mat.Cholesky
	frames        int
	dif, sum      []moment // of every pair of lines, row by row
}

// moment holds the sums of moments for one pair of lines.
type moment struct{ s0, s1, s2 float64 }

func newGram(m *Model, frames int) (*gram, error) {
	g := &gram{lines: len(m.Lines), degree: m.Degree, frames: frames}
	even := mat.NewSymDense(g.evenSize(), nil)
	odd := mat.NewSymDense(g.oddSize(), nil)
	theta := lineAngles(m)
	g.pairs(theta)
	for i := range theta {
		for j := i; j < len(theta); j++ {
			dif, sum := g.dif[i*g.lines+j].s0, g.sum[i*g.lines+j].s0
			even.SetSym(i, j, (dif+sum)/2)
			odd.SetSym(i, j, (dif-sum)/2)
		}
		g.fillPolyLine(even, odd, i, theta[i])
	}
	g.fillPoly(even, odd)
	if even.SymmetricDim() > 0 && (!g.even.Factorize(even) || g.even.Cond() > 1e10) {
		return nil, ErrSingular
	}
	if odd.SymmetricDim() > 0 && (!g.odd.Factorize(odd) || g.odd.Cond() > 1e10) {
		return nil, ErrSingular
	}
	return g, nil
}

// pairs fills the moments of sums and differences of the lines' angles; s1 is odd in
// the difference.
func (g *gram) pairs(theta []float64) {
	n := g.lines
	g.dif, g.sum = make([]moment, n*n), make([]moment, n*n)
	for i := range theta {
		for j := i; j < n; j++ {
			s0, s1, s2 := moments(g.frames, theta[i]-theta[j])
			g.dif[i*n+j], g.dif[j*n+i] = moment{s0, s1, s2}, moment{s0, -s1, s2}
			s0, s1, s2 = moments(g.frames, theta[i]+theta[j])
			g.sum[i*n+j] = moment{s0, s1, s2}
			g.sum[j*n+i] = g.sum[i*n+j]
		}
	}
}

func (g *gram) evenSize() int { return g.lines + (g.degree+2)/2 }
func (g *gram) oddSize() int  { return g.lines + (g.degree+1)/2 }

func lineAngles(m *Model) []float64 {
	theta := make([]float64, len(m.Lines))
	for i, l := range m.Lines {
		theta[i] = 2 * math.Pi * m.FreqHz(l) / m.RateHz
	}
	return theta
}

// fillPolyLine sets the products of line i with the polynomials.
func (g *gram) fillPolyLine(even, odd *mat.SymDense, i int, theta float64) {
	s0, s1, s2 := moments(g.frames, theta)
	scale := 2 / float64(g.frames) // tau = scale · n
	products := [3]float64{
		s0,
		-scale * s1,
		(3*scale*scale*s2 - s0) / 2,
	}
	for p := 0; p <= g.degree; p++ {
		if p%2 == 0 {
			even.SetSym(i, g.lines+p/2, products[p])
		} else {
			odd.SetSym(i, g.lines+p/2, products[p])
		}
	}
}

// fillPoly sets the products of the polynomials among themselves.
func (g *gram) fillPoly(even, odd *mat.SymDense) {
	n := float64(g.frames)
	q2 := (n*n - 1) / 12 * num.Sq(2/n) // mean of tau²
	q4 := (n*n - 1) * (3*n*n - 7) / 240 * num.Sq(num.Sq(2/n))
	if g.degree >= 0 {
		even.SetSym(g.lines, g.lines, n)
	}
	if g.degree >= 1 {
		odd.SetSym(g.lines, g.lines, n*q2)
	}
	if g.degree >= 2 {
		even.SetSym(g.lines, g.lines+1, n*(3*q2-1)/2)
		even.SetSym(g.lines+1, g.lines+1, n*(9*q4-6*q2+1)/4)
	}
}

// rhs orders a channel's projections as the unknowns: the even block, then the odd.
func (g *gram) rhs(proj []complex128, poly []float64) *mat.VecDense {
	v := mat.NewVecDense(g.evenSize()+g.oddSize(), nil)
	for l, p := range proj {
		v.SetVec(l, real(p))
		v.SetVec(g.evenSize()+l, imag(p)) // Σ r (-sin) = Im Σ r exp(-jφ)
	}
	for i, p := range poly {
		v.SetVec(g.polyIndex(i), p)
	}
	return v
}

func (g *gram) polyIndex(p int) int {
	if p%2 == 0 {
		return g.lines + p/2
	}
	return g.evenSize() + g.lines + p/2
}

func (g *gram) solve(rhs *mat.VecDense) *mat.VecDense {
	out := mat.NewVecDense(rhs.Len(), nil)
	ne, no := g.evenSize(), g.oddSize()
	if ne > 0 {
		_ = g.even.SolveVecTo(out.SliceVec(0, ne).(*mat.VecDense), rhs.SliceVec(0, ne))
	}
	if no > 0 {
		_ = g.odd.SolveVecTo(out.SliceVec(ne, ne+no).(*mat.VecDense), rhs.SliceVec(ne, ne+no))
	}
	return out
}

func (g *gram) lineStep(delta *mat.VecDense, l int) complex128 {
	return complex(delta.AtVec(l), delta.AtVec(g.evenSize()+l))
}

func (g *gram) polyStep(delta *mat.VecDense, p int) float64 {
	return delta.AtVec(g.polyIndex(p))
}

// coupling returns, for each shared parameter that is free, the products of the
// model's derivative with every linear column; nil where the parameter is held.
// Polynomials are left out: they are slow where the lines are not.
func (g *gram) coupling(m *Model, amp []complex128) []*mat.VecDense {
	out := make([]*mat.VecDense, m.shared())
	for k := range out {
		if !m.free(k) {
			continue
		}
		out[k] = mat.NewVecDense(g.evenSize()+g.oddSize(), nil)
		data := out[k].RawVector().Data
		for l, ln := range m.Lines {
			if r := m.rate(ln, k); r != 0 && amp[l] != 0 {
				g.addCoupling(data, l, amp[l]*complex(r/2/m.RateHz, 0), m.isDrift(k), m.RateHz)
			}
		}
	}
	return out
}

// addCoupling adds what line l brings: the derivative w(t)(-Re A sin φ - Im A cos φ)
// against cos and -sin of every line, with weight w = t, or t² less its mean.
func (g *gram) addCoupling(v []float64, l int, amp complex128, square bool, rateHz float64) {
	a, b := real(amp), imag(amp)
	mean := (float64(g.frames)*float64(g.frames) - 1) / 12
	cos, sin := v[:g.lines], v[g.evenSize():]
	for i := range cos {
		d, s := g.dif[l*g.lines+i], g.sum[l*g.lines+i]
		if square {
			cos[i] -= b * (s.s2 + d.s2 - mean*(s.s0+d.s0)) / rateHz
			sin[i] -= a * (s.s2 - d.s2 - mean*(s.s0-d.s0)) / rateHz
		} else {
			cos[i] -= a * (s.s1 + d.s1)
			sin[i] += b * (s.s1 - d.s1)
		}
	}
}

// inflation returns, per line, the variance of its phasor (mean of the two parts)
// relative to that of a lone tone in the same record, 2σ²/N.
func (g *gram) inflation() []float64 {
	out := make([]float64, g.lines)
	var even, odd mat.SymDense
	if g.lines == 0 || g.even.InverseTo(&even) != nil || g.odd.InverseTo(&odd) != nil {
		return out
	}
	for l := range out {
		out[l] = (even.At(l, l) + odd.At(l, l)) / 2 * float64(g.frames) / 2
	}
	return out
}
