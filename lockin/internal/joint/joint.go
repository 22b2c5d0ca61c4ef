// Package joint fits tones, harmonics, mains lines and a slow drift to all channels of a
// record at once.
package joint

import (
	"errors"
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/mat"
)

// The joint fit takes a stretch of record as
//
//	x_ch(t) = Σ_l Re( A_ch,l exp(jφ_l(t)) ) + Σ_p c_ch,p P_p(2t/T) + noise
//
// with one common set of lines l for all channels: tones (and their harmonics)
// whose frequencies share one free factor 1+ε, the difference of two clocks;
// and mains lines, multiples of one free frequency that may drift linearly.
// P_p are Legendre polynomials: offset, drift and curvature. Time counts from the
// middle of the stretch, where amplitude and phase do not correlate with ε.
//
// Everything is found together by Gauss–Newton, so that no line leaks into
// another. The residual is formed exactly at every step; the normal matrix is the
// closed form for lines that do not drift (see moments), which only touches the
// speed of convergence, not where it ends.

// Fit is the outcome.
type Fit struct {
	Model     *Model // with the shared parameters as fitted
	Frames    int
	Amp       [][]complex128 // [channel][line]
	Poly      [][]float64    // [channel][degree]
	power     [][3]float64   // the same as a power series
	Residual  [][]float64
	Shrinkage []float64 // per line: variance of a phasor over that of a lone tone
	steps     int
	converged bool
}

var ErrSingular = errors.New("lockin: tones or lines too close together for a record of this length")

// A block of samples shares one phase rotation: the longest that keeps a mains line of
// order 9, drifting 5 mHz/s for half a second, right to 1e-4 rad within a block at the
// far ends (and on average by nothing).
const (
	LongestBlock = 128
	blockSeconds = 2.7e-3
)

func blockFrames(rateHz float64) int {
	return max(8, min(LongestBlock, 2*int(rateHz*blockSeconds/2)))
}

// Each step moves some thirty times less than the one before it; what a fine fit
// leaves is then below 1e-8 of the strongest line.
const (
	maxFitSteps = 12
	Fine        = 2e-7
	Rough       = 1e-4
)

// Solve fits the model to all channels of x. It works on copies of the model.
//
// It ends when no phase or amplitude moves by more than enough, a share of the
// strongest line.
func Solve(x [][]float64, model Model, enough float64) (*Fit, error) {
	m := model
	m.Eps = append([]float64(nil), model.Eps...)
	f := &Fit{Model: &m, Frames: len(x[0])}
	f.Amp = make([][]complex128, len(x))
	f.Poly = make([][]float64, len(x))
	f.Residual = make([][]float64, len(x))
	f.power = make([][3]float64, len(x))
	for ch := range x {
		f.Amp[ch] = make([]complex128, len(m.Lines))
		f.Poly[ch] = make([]float64, m.Degree+1)
		f.Residual[ch] = make([]float64, len(x[ch]))
	}
	pass := newFitPass(&m, f.Frames, len(x))
	for f.steps = 1; f.steps <= maxFitSteps; f.steps++ {
		pass.run(f, x, true)
		gram, err := newGram(&m, f.Frames)
		if err != nil {
			return nil, err
		}
		move := f.update(pass, gram, model)
		if f.steps == 1 {
			continue
		}
		if move < enough {
			f.converged = true
			break
		}
	}
	pass.run(f, x, false)
	gram, err := newGram(&m, f.Frames)
	if err != nil {
		return nil, err
	}
	f.Shrinkage = gram.inflation()
	return f, nil
}

// update solves one Gauss–Newton step and applies it. It returns the largest
// movement of phase, in radians at the ends of the stretch, or of amplitude
// relative to the strongest line, whichever is more.
func (f *Fit) update(p *fitPass, g *gram, start Model) float64 {
	m := f.Model
	channels := len(f.Amp)
	shared := newSharedStep(m, f.Frames)
	deltas := make([]*mat.VecDense, channels)
	explained := make([][]*mat.VecDense, channels)
	variance := 0.0
	for ch := range deltas {
		variance += sparseMeanSquare(f.Residual[ch]) / float64(channels)
		shared.addChannel(f.Amp[ch], p, ch, g)
		deltas[ch] = g.solve(g.rhs(p.proj[ch], p.polyProj[ch]))
		explained[ch] = shared.eliminate(g, g.coupling(m, f.Amp[ch]), deltas[ch])
	}
	shared.addPrior(variance)
	step := shared.solve()
	move := 0.0
	for ch := range deltas {
		for k, y := range explained[ch] {
			if y != nil {
				deltas[ch].AddScaledVec(deltas[ch], -step[k], y)
			}
		}
		move = math.Max(move, f.applyLinear(ch, deltas[ch], g))
	}
	return math.Max(move, m.applyShared(step, start, f.Frames))
}

// applyLinear adds the step of channel ch and returns its size relative to the
// channel's strongest line.
func (f *Fit) applyLinear(ch int, delta *mat.VecDense, g *gram) float64 {
	largest, move := 0.0, 0.0
	for l := range f.Amp[ch] {
		d := g.lineStep(delta, l)
		f.Amp[ch][l] += d
		largest = math.Max(largest, cmplx.Abs(f.Amp[ch][l]))
		move = math.Max(move, cmplx.Abs(d))
	}
	for p := range f.Poly[ch] {
		f.Poly[ch][p] += g.polyStep(delta, p)
	}
	if largest == 0 {
		return 0
	}
	return move / largest
}

// applyShared moves ε, the mains frequency and its drift within their bounds and
// returns the phase that this moves at the ends of the stretch.
func (m *Model) applyShared(step []float64, start Model, frames int) float64 {
	halfS := float64(frames) / m.RateHz / 2
	old := *m
	old.Eps = append([]float64(nil), m.Eps...)
	if m.FreeEps {
		for k := range m.Eps {
			m.Eps[k] = within(m.Eps[k]+step[k], start.Eps[k], m.EpsBound[k])
		}
	}
	if m.FreeMains {
		m.MainsHz = within(m.MainsHz+step[len(m.Eps)], m.MainsCentre, m.MainsBound)
		m.chirp = within(m.chirp+step[len(m.Eps)+1], 0, m.ChirpMax)
	}
	move := 0.0
	for _, l := range m.Lines {
		d := m.FreqHz(l) - old.FreqHz(l)
		if l.Mains {
			d += l.Base * (m.chirp - old.chirp) * halfS / 2
		}
		move = math.Max(move, math.Abs(2*math.Pi*d*halfS))
	}
	return move
}

// sparseMeanSquare takes every seventh sample: enough for the weight of a prior.
func sparseMeanSquare(x []float64) float64 {
	s, n := 0.0, 0.0
	for i := 0; i < len(x); i += 7 {
		s += x[i] * x[i]
		n++
	}
	return s / n
}

func within(x, centre, radius float64) float64 {
	return math.Max(centre-radius, math.Min(centre+radius, x))
}

// Lines closer than this many bins (of 1/T) cannot be told apart without blowing up
// the variance: two tones 0.8 bins apart inflate each other's by 1/(1-sinc²(0.8)) = 1.06.
const ApartBins = 0.8

// HiddenOrders: mains multiples beyond this are not expected in any amount.
const HiddenOrders = 40
