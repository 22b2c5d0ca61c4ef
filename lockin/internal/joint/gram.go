package joint

import (
	"math"

	"example.org/wheatear/lockin/internal/num"
	"gonum.org/v1/gonum/mat"
)

// gram is the normal matrix of the linear parameters. Because time counts from
// the middle, even columns and odd ones are orthogonal, and two matrices of half the
// size do. Columns of even: one cosine per line, or minus sine where the line is turned,
// then P0, P2; of odd: one minus sine per line, or cosine where it is turned, then P1.
type gram struct {
	lines, degree int
	turned        []bool // per line
	even, odd     mat.Cholesky
	frames        int
	dif, sum      []moment // of every pair of lines, row by row
}

// moment holds the sums of moments for one pair of lines, those of turnedMoments where
// one of the two is turned.
// s3 is known for these only.
type moment struct{ s0, s1, s2, s3 float64 }

func newGram(m *Model, frames int) (*gram, error) {
	g := &gram{lines: len(m.Lines), degree: m.Degree, frames: frames, turned: make([]bool, len(m.Lines))}
	for i, l := range m.Lines {
		g.turned[i] = l.Turned
	}
	even := mat.NewSymDense(g.evenSize(), nil)
	odd := mat.NewSymDense(g.oddSize(), nil)
	theta := lineAngles(m)
	g.pairs(theta, m.Skip)
	for i := range theta {
		for j := i; j < len(theta); j++ {
			p := g.products(i, j, 0)
			switch e, o := p.cc, p.ss; {
			case g.turned[i] && g.turned[j]:
				even.SetSym(i, j, o/2)
				odd.SetSym(i, j, e/2)
			case g.turned[j]:
				even.SetSym(i, j, -p.cs/2)
				odd.SetSym(i, j, -p.sc/2)
			case g.turned[i]:
				even.SetSym(i, j, -p.sc/2)
				odd.SetSym(i, j, -p.cs/2)
			default:
				even.SetSym(i, j, e/2)
				odd.SetSym(i, j, o/2)
			}
		}
		g.fillPolyLine(even, odd, i, theta[i], m.Skip)
	}
	g.fillPoly(even, odd, m)
	if even.SymmetricDim() > 0 && (!g.even.Factorize(even) || g.even.Cond() > 1e10) {
		return nil, ErrSingular
	}
	if odd.SymmetricDim() > 0 && (!g.odd.Factorize(odd) || g.odd.Cond() > 1e10) {
		return nil, ErrSingular
	}
	return g, nil
}

// pairs fills the moments of sums and differences of the lines' angles.
func (g *gram) pairs(theta []float64, skip int) {
	n := g.lines
	g.dif, g.sum = make([]moment, n*n), make([]moment, n*n)
	for i := range theta {
		for j := i; j < n; j++ {
			d, s := g.moment(i, j, theta[i]-theta[j], skip), g.moment(i, j, theta[i]+theta[j], skip)
			g.dif[i*n+j], g.sum[i*n+j], g.sum[j*n+i] = d, s, s
			if g.turned[i] != g.turned[j] { // odd, even, odd in the difference
				g.dif[j*n+i] = moment{-d.s0, d.s1, -d.s2, d.s3}
			} else {
				g.dif[j*n+i] = moment{d.s0, -d.s1, d.s2, 0}
			}
		}
	}
}

func (g *gram) moment(i, j int, theta float64, skip int) (m moment) {
	if g.turned[i] != g.turned[j] {
		m.s0, m.s1, m.s2, m.s3 = turnedMoments(g.frames, skip, theta)
		return m
	}
	return plainMoment(g.frames, skip, theta)
}

// plainMoment is that of moments, less what is skipped.
func plainMoment(frames, skip int, theta float64) (m moment) {
	m.s0, m.s1, m.s2 = moments(frames, theta)
	if skip > 0 {
		s0, s1, s2 := moments(skip, theta)
		m.s0, m.s1, m.s2 = m.s0-s0, m.s1-s1, m.s2-s2
	}
	return m
}

// trig holds twice the sums of products of the cosines and sines of two lines, each with
// its sign: of cosines, of sines, of the cosine of the first with the sine of the second,
// and the reverse.
type trig struct{ cc, ss, cs, sc float64 }

// products returns them for lines i and j, weighted with n to a power of 0 to 3.
func (g *gram) products(i, j, power int) trig {
	d, s := g.dif[i*g.lines+j], g.sum[i*g.lines+j]
	dif, sum := [4]float64{d.s0, d.s1, d.s2, d.s3}[power], [4]float64{s.s0, s.s1, s.s2, s.s3}[power]
	if even := power%2 == 0; even != (g.turned[i] != g.turned[j]) {
		return trig{cc: dif + sum, ss: dif - sum}
	}
	return trig{cs: sum - dif, sc: sum + dif}
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
func (g *gram) fillPolyLine(even, odd *mat.SymDense, i int, theta float64, skip int) {
	m, sign := plainMoment(g.frames, skip, theta), 1.0
	if g.turned[i] { // even columns are minus sines, odd ones cosines
		m.s0, m.s1, m.s2, _ = turnedMoments(g.frames, skip, theta)
		sign = -1
	}
	scale := 2 / float64(g.frames) // tau = scale · n
	products := [3]float64{
		sign * m.s0,
		-sign * scale * m.s1,
		sign * (3*scale*scale*m.s2 - m.s0) / 2,
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
func (g *gram) fillPoly(even, odd *mat.SymDense, m *Model) {
	scale := num.Sq(2 / float64(g.frames))
	q0, q2, q4 := m.powers(g.frames) // of tau
	q2, q4 = q2*scale, q4*scale*scale
	if g.degree >= 0 {
		even.SetSym(g.lines, g.lines, q0)
	}
	if g.degree >= 1 {
		odd.SetSym(g.lines, g.lines, q2)
	}
	if g.degree >= 2 {
		even.SetSym(g.lines, g.lines+1, (3*q2-q0)/2)
		even.SetSym(g.lines+1, g.lines+1, (9*q4-6*q2+q0)/4)
	}
}

// cosine and sine return where the columns of line l stand among the unknowns: the even
// block, then the odd.
func (g *gram) cosine(l int) int {
	if g.turned[l] {
		return g.evenSize() + l
	}
	return l
}

func (g *gram) sine(l int) int {
	if g.turned[l] {
		return l
	}
	return g.evenSize() + l
}

// rhs orders a channel's projections as the unknowns.
func (g *gram) rhs(proj []complex128, poly []float64) *mat.VecDense {
	v := mat.NewVecDense(g.evenSize()+g.oddSize(), nil)
	for l, p := range proj {
		v.SetVec(g.cosine(l), real(p))
		v.SetVec(g.sine(l), imag(p)) // Σ r (-sin) = Im Σ r exp(-jφ)
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
	return complex(delta.AtVec(g.cosine(l)), delta.AtVec(g.sine(l)))
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
	for i := range g.lines {
		p := g.products(i, l, 1)
		if square {
			q := g.products(i, l, 0)
			p = g.products(i, l, 2)
			p = trig{(p.cc - mean*q.cc) / rateHz, (p.ss - mean*q.ss) / rateHz, (p.cs - mean*q.cs) / rateHz, (p.sc - mean*q.sc) / rateHz}
		}
		v[g.cosine(i)] -= a*p.cs + b*p.cc
		v[g.sine(i)] += a*p.ss + b*p.sc
	}
}

// inflation returns, per line, the variance of its phasor (mean of the two parts)
// relative to that of a lone tone in the same record, 2σ²/N.
func (g *gram) inflation(used int) []float64 {
	out := make([]float64, g.lines)
	var even, odd mat.SymDense
	if g.lines == 0 || g.even.InverseTo(&even) != nil || g.odd.InverseTo(&odd) != nil {
		return out
	}
	for l := range out {
		out[l] = (even.At(l, l) + odd.At(l, l)) / 2 * float64(used) / 2
	}
	return out
}
