package lockin

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// gram is the normal matrix of the linear parameters. Because time counts from
// the middle, cosines (with the even polynomials) and sines (with the odd ones)
// are orthogonal, and two matrices of half the size do. Columns of even: one
// cosine per line, then P0, P2; of odd: one minus sine per line, then P1, P3.
type gram struct {
	lines, degree int
	even, odd     mat.Cholesky
	frames        int
}

func newGram(m *jointModel, frames int) (*gram, error) {
	g := &gram{lines: len(m.lines), degree: m.degree, frames: frames}
	even := mat.NewSymDense(g.evenSize(), nil)
	odd := mat.NewSymDense(g.oddSize(), nil)
	theta := lineAngles(m)
	for i := range theta {
		for j := i; j < len(theta); j++ {
			dif, _, _, _ := moments(frames, theta[i]-theta[j])
			sum, _, _, _ := moments(frames, theta[i]+theta[j])
			even.SetSym(i, j, (dif+sum)/2)
			odd.SetSym(i, j, (dif-sum)/2)
		}
		g.fillPolyLine(even, odd, i, theta[i])
	}
	g.fillPoly(even, odd)
	if even.SymmetricDim() > 0 && (!g.even.Factorize(even) || g.even.Cond() > 1e10) {
		return nil, errSingular
	}
	if odd.SymmetricDim() > 0 && (!g.odd.Factorize(odd) || g.odd.Cond() > 1e10) {
		return nil, errSingular
	}
	return g, nil
}

func (g *gram) evenSize() int { return g.lines + (g.degree+2)/2 }
func (g *gram) oddSize() int  { return g.lines + (g.degree+1)/2 }

func lineAngles(m *jointModel) []float64 {
	theta := make([]float64, len(m.lines))
	for i, l := range m.lines {
		theta[i] = 2 * math.Pi * m.freqHz(l) / m.rateHz
	}
	return theta
}

// fillPolyLine sets the products of line i with the polynomials.
func (g *gram) fillPolyLine(even, odd *mat.SymDense, i int, theta float64) {
	s0, s1, s2, s3 := moments(g.frames, theta)
	scale := 2 / float64(g.frames) // tau = scale · n
	products := [4]float64{
		s0,
		-scale * s1,
		(3*scale*scale*s2 - s0) / 2,
		-(5*scale*scale*scale*s3 - 3*scale*s1) / 2,
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
	q2 := (n*n - 1) / 12 * sq(2/n) // mean of tau²
	q4 := (n*n - 1) * (3*n*n - 7) / 240 * sq(sq(2/n))
	q6 := (3*n*n*n*n - 18*n*n + 31) * (n*n - 1) / 1344 * sq(2/n) * sq(sq(2/n))
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
	if g.degree >= 3 {
		odd.SetSym(g.lines, g.lines+1, n*(5*q4-3*q2)/2)
		odd.SetSym(g.lines+1, g.lines+1, n*(25*q6-30*q4+9*q2)/4)
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
func (g *gram) coupling(m *jointModel, amp []complex128, frames int) [3]*mat.VecDense {
	free := [3]bool{m.freeEps, m.freeMains, m.freeChirp}
	var out [3]*mat.VecDense
	theta := lineAngles(m)
	dt := 1 / m.rateHz
	meanSquare := (float64(frames)*float64(frames) - 1) / 12
	for k := range out {
		if !free[k] {
			continue
		}
		v := mat.NewVecDense(g.evenSize()+g.oddSize(), nil)
		for l, ln := range m.lines {
			r := m.rate(ln, k)
			if r == 0 || amp[l] == 0 {
				continue
			}
			a, b := real(amp[l]), imag(amp[l])
			for i := range m.lines {
				s0d, s1d, s2d, _ := moments(frames, theta[l]-theta[i])
				s0s, s1s, s2s, _ := moments(frames, theta[l]+theta[i])
				var c, s float64
				if k < 2 { // weight t; derivative t(-a sin - b cos)
					c = -a * (s1s + s1d) / 2 * dt
					s = b * (s1s - s1d) / 2 * dt
				} else { // weight t² - mean t²
					c = -b * (s2d + s2s - meanSquare*(s0d+s0s)) / 2 * dt * dt
					s = a * (s2d - s2s - meanSquare*(s0d-s0s)) / 2 * dt * dt
				}
				v.SetVec(i, v.AtVec(i)+r*c)
				v.SetVec(g.evenSize()+i, v.AtVec(g.evenSize()+i)+r*s)
			}
		}
		out[k] = v
	}
	return out
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
