package lockin

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// sharedStep solves for the three parameters that all channels share: 0 is ε,
// 1 the mains frequency in Hz, 2 its drift in Hz/s.
type sharedStep struct {
	m       *jointModel
	frames  int
	normal  [3][3]float64 // after elimination of the linear parameters
	rhs     [3]float64
	hess    [3]float64 // diagonal after elimination, for uncertainties
	free    [3]bool
	moment2 float64 // Σ t² in s²
	moment4 float64 // Σ (t² - mean t²)² in s⁴
}

func newSharedStep(m *jointModel, frames int) *sharedStep {
	n, dt := float64(frames), 1/m.rateHz
	return &sharedStep{
		m: m, frames: frames,
		free:    [3]bool{m.freeEps, m.freeMains, m.freeMains},
		moment2: n * (n*n - 1) / 12 * dt * dt,
		moment4: n * (n*n - 1) * (n*n - 4) / 180 * dt * dt * dt * dt,
	}
}

// rate returns how fast the phase of line l turns with shared parameter k, per
// unit of the weight of that parameter: t for 0 and 1, t² - mean t² for 2.
func (m *jointModel) rate(l line, k int) float64 {
	switch {
	case k == 0 && !l.mains:
		return 2 * math.Pi * l.base
	case k == 1 && l.mains:
		return 2 * math.Pi * l.base
	case k == 2 && l.mains:
		return math.Pi * l.base
	}
	return 0
}

// What mains do is known beforehand: they stay near their name and drift slowly. The
// fit is told so with the weight of the noise in the record; where the hum is strong
// this counts for nothing, where it is weak it keeps the fit from following noise.
const (
	usualMainsHz = 0.1  // standard deviation from 50 or 60 Hz
	usualDriftHz = 0.01 // and of the drift, per second
)

// addPrior adds that knowledge; variance is the mean square of the residual.
func (s *sharedStep) addPrior(variance float64) {
	usual := [3]float64{0, usualMainsHz, usualDriftHz}
	at := [3]float64{0, s.m.mainsHz - s.m.mainsCentre, s.m.chirp}
	for k, u := range usual {
		if s.free[k] && u > 0 {
			s.normal[k][k] += variance / (u * u)
			s.rhs[k] -= variance * at[k] / (u * u)
		}
	}
}

// addChannel adds a channel's own terms: how the residual projects on the
// derivative of the model, and the diagonal of the normal matrix.
func (s *sharedStep) addChannel(amp []complex128, p *fitPass, ch int) {
	weight := [3]float64{s.moment2, s.moment2, s.moment4}
	for l, ln := range s.m.lines {
		a := amp[l]
		power := (real(a)*real(a) + imag(a)*imag(a)) / 2
		for k := range s.free {
			if r := s.m.rate(ln, k); s.free[k] && r != 0 {
				q := p.proj1[ch][l]
				if k == 2 {
					q = p.proj2[ch][l]
				}
				// Re(jA conj q), q = Σ w r exp(-jφ)
				s.rhs[k] += r * (real(a)*imag(q) - imag(a)*real(q))
				s.normal[k][k] += r * r * power * weight[k]
			}
		}
	}
}

// eliminate removes what the channel's linear parameters explain (the Schur
// complement of its block); delta is their solution with the shared ones held. It
// returns how they answer to one unit of each shared parameter.
func (s *sharedStep) eliminate(g *gram, coupling [3]*mat.VecDense, delta *mat.VecDense) (explained [3]*mat.VecDense) {
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

// solve returns the steps of the shared parameters; those that are held or that
// the data say nothing about do not move.
func (s *sharedStep) solve() [3]float64 {
	var idx []int
	for k, free := range s.free {
		if free && s.normal[k][k] > 0 {
			idx = append(idx, k)
			s.hess[k] = s.normal[k][k]
		}
	}
	var step [3]float64
	if len(idx) == 0 {
		return step
	}
	// Scaled to a unit diagonal: hertz per second and parts per million differ by
	// so many powers of ten that the solver would refuse.
	a := mat.NewSymDense(len(idx), nil)
	b := mat.NewVecDense(len(idx), nil)
	for i, k := range idx {
		si := math.Sqrt(s.normal[k][k])
		b.SetVec(i, s.rhs[k]/si)
		for j := i; j < len(idx); j++ {
			sj := math.Sqrt(s.normal[idx[j]][idx[j]])
			a.SetSym(i, j, (s.normal[k][idx[j]]+s.normal[idx[j]][k])/2/(si*sj))
		}
	}
	var chol mat.Cholesky
	var x mat.VecDense
	if !chol.Factorize(a) || chol.SolveVecTo(&x, b) != nil {
		return step
	}
	for i, k := range idx {
		step[k] = x.AtVec(i) / math.Sqrt(s.normal[k][k])
	}
	return step
}
