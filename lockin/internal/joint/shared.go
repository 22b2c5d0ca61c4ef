package joint

import (
	"math"

	"example.org/wheatear/lockin/internal/num"
	"gonum.org/v1/gonum/mat"
)

// sharedStep solves for the parameters that all channels share: the ε of each clock,
// then the mains frequency in Hz and its drift in Hz/s.
type sharedStep struct {
	m       *Model
	normal  [][]float64 // after elimination of the linear parameters
	rhs     []float64
	moment2 float64         // Σ t² in s²
	moment4 float64         // Σ (t² - mean t²)² in s⁴
	deltas  []*mat.VecDense // per channel, of the linear parameters with these held
}

func newSharedStep(m *Model, frames int) *sharedStep {
	dt := 1 / m.RateHz
	p0, p2, p4 := m.powers(frames)
	mean := (num.Sq(float64(frames)) - 1) / 12
	s := &sharedStep{
		m: m, rhs: make([]float64, m.shared()), normal: make([][]float64, m.shared()),
		moment2: p2 * dt * dt,
		moment4: (p4 - 2*mean*p2 + mean*mean*p0) * dt * dt * dt * dt,
	}
	for k := range s.normal {
		s.normal[k] = make([]float64, m.shared())
	}
	return s
}

// shared is how many shared parameters there are, free or held.
func (m *Model) shared() int { return len(m.Eps) + 2 }

func (m *Model) isDrift(k int) bool { return k == len(m.Eps)+1 }

// free says whether shared parameter k is fitted.
func (m *Model) free(k int) bool {
	if k < len(m.Eps) {
		return m.FreeEps
	}
	return m.FreeMains
}

// rate returns how fast the phase of line l turns with shared parameter k, per unit of
// the weight of that parameter: t² - mean t² for the drift, t for the others.
func (m *Model) rate(l Line, k int) float64 {
	switch {
	case !m.free(k), l.Mains != (k >= len(m.Eps)), !l.Mains && l.Clock != k:
		return 0
	case m.isDrift(k):
		return math.Pi * l.Base
	}
	return 2 * math.Pi * l.Base
}

// What mains do is known beforehand: they stay near their name and drift slowly. The
// fit is told so with the weight of the noise in the record; where the hum is strong
// this counts for nothing, where it is weak it keeps the fit from following noise.
const (
	UsualMainsHz = 0.1  // standard deviation from 50 or 60 Hz
	usualDriftHz = 0.01 // and of the drift, per second
)

// addPrior adds that knowledge; variance is the mean square of the residual.
func (s *sharedStep) addPrior(variance float64) {
	if !s.m.FreeMains {
		return
	}
	mains := len(s.m.Eps)
	s.prior(mains, s.m.MainsHz-s.m.MainsCentre, UsualMainsHz, variance)
	s.prior(mains+1, s.m.chirp, usualDriftHz, variance)
}

func (s *sharedStep) prior(k int, at, usual, variance float64) {
	s.normal[k][k] += variance / (usual * usual)
	s.rhs[k] -= variance * at / (usual * usual)
}

// addChannel adds a channel's own terms: how the residual projects on the
// derivative of the model, and the normal matrix. Between different lines the drift is
// left out of it: that takes a step more at worst.
func (s *sharedStep) addChannel(amp []complex128, p *fitPass, ch int, g *gram) {
	s.addPairs(amp, g)
	for l, ln := range s.m.Lines {
		a := amp[l]
		power := (real(a)*real(a) + imag(a)*imag(a)) / 2
		for k := range s.rhs {
			r := s.m.rate(ln, k)
			if r == 0 {
				continue
			}
			q, weight := p.proj1[ch][l], s.moment2
			if s.m.isDrift(k) {
				q, weight = p.proj2[ch][l], s.moment4
			}
			// Re(jA conj q), q = Σ w r exp(-jφ)
			s.rhs[k] += r * (real(a)*imag(q) - imag(a)*real(q))
			s.normal[k][k] += r * r * power * weight
		}
	}
}

// addPairs adds what lines bring to the normal matrix two by two: with weights t and
// t and derivatives -Re A sin φ - Im A cos φ. It matters where lines are close. Of a
// turned tone and a mains line under it, the drift of the one and the frequency of the
// other look much alike.
func (s *sharedStep) addPairs(amp []complex128, g *gram) {
	drift := len(s.rhs) - 1
	mean := (num.Sq(float64(g.frames)) - 1) / 12
	for l, a := range amp {
		for i, b := range amp[:l] {
			w := g.products(l, i, 2).of(a, b) / num.Sq(s.m.RateHz)
			if g.turned[l] != g.turned[i] {
				v := (g.products(l, i, 3).of(a, b) - mean*g.products(l, i, 1).of(a, b)) / (s.m.RateHz * num.Sq(s.m.RateHz))
				for k := range drift {
					r := s.m.rate(s.m.Lines[l], k)*s.m.rate(s.m.Lines[i], drift) + s.m.rate(s.m.Lines[i], k)*s.m.rate(s.m.Lines[l], drift)
					s.normal[k][drift] += r * v
					s.normal[drift][k] += r * v
				}
			}
			for k := range drift {
				if r := s.m.rate(s.m.Lines[l], k); r != 0 {
					for j := range drift {
						if q := s.m.rate(s.m.Lines[i], j); q != 0 {
							s.normal[k][j] += r * q * w
							s.normal[j][k] += r * q * w
						}
					}
				}
			}
		}
	}
}

// of is the sum of the products of the derivatives of two lines of these amplitudes.
func (t trig) of(a, b complex128) float64 {
	return (real(a)*real(b)*t.ss + imag(a)*imag(b)*t.cc + real(a)*imag(b)*t.sc + imag(a)*real(b)*t.cs) / 2
}

// eliminate removes what the channel's linear parameters explain (the Schur
// complement of its block); delta is their solution with the shared ones held. It
// returns how they answer to one unit of each shared parameter.
func (s *sharedStep) eliminate(g *gram, coupling []*mat.VecDense, delta *mat.VecDense) (explained []*mat.VecDense) {
	explained = make([]*mat.VecDense, len(coupling))
	for k, c := range coupling {
		if c == nil {
			continue
		}
		s.rhs[k] -= mat.Dot(c, delta)
		explained[k] = g.solve(c)
		for j, d := range coupling {
			if d != nil {
				s.normal[k][j] -= mat.Dot(d, explained[k])
			}
		}
	}
	return explained
}

// told lists the shared parameters that move: not those that are held, nor those that the
// data say nothing about.
func (s *sharedStep) told() []int {
	var idx []int
	for k := range s.rhs {
		if s.m.free(k) && s.normal[k][k] > 0 {
			idx = append(idx, k)
		}
	}
	return idx
}

// factor factorises the equations of those parameters, scaled to a unit diagonal: hertz
// per second and parts per million differ by so many powers of ten that the solver would
// refuse.
func (s *sharedStep) factor(idx []int) (chol mat.Cholesky, ok bool) {
	if len(idx) == 0 {
		return chol, false
	}
	a := mat.NewSymDense(len(idx), nil)
	for i, k := range idx {
		si := math.Sqrt(s.normal[k][k])
		for j := i; j < len(idx); j++ {
			sj := math.Sqrt(s.normal[idx[j]][idx[j]])
			a.SetSym(i, j, (s.normal[k][idx[j]]+s.normal[idx[j]][k])/2/(si*sj))
		}
	}
	ok = chol.Factorize(a)
	return chol, ok
}

// solve returns the steps of the shared parameters.
func (s *sharedStep) solve() []float64 {
	step := make([]float64, len(s.rhs))
	idx := s.told()
	chol, ok := s.factor(idx)
	if !ok {
		return step
	}
	b := mat.NewVecDense(len(idx), nil)
	for i, k := range idx {
		b.SetVec(i, s.rhs[k]/math.Sqrt(s.normal[k][k]))
	}
	var x mat.VecDense
	if chol.SolveVecTo(&x, b) != nil {
		return step
	}
	for i, k := range idx {
		step[k] = x.AtVec(i) / math.Sqrt(s.normal[k][k])
	}
	return step
}

// inverse returns the covariance of the shared parameters for noise of unit variance, 0
// for those that do not move; nil where there is none.
func (s *sharedStep) inverse() *mat.SymDense {
	idx := s.told()
	chol, ok := s.factor(idx)
	var inv mat.SymDense
	if !ok || chol.InverseTo(&inv) != nil {
		return nil
	}
	out := mat.NewSymDense(len(s.rhs), nil)
	for i, k := range idx {
		for j, q := range idx {
			out.SetSym(k, q, inv.At(i, j)/math.Sqrt(s.normal[k][k]*s.normal[q][q]))
		}
	}
	return out
}
