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
// middle of the stretch, where amplitude and phase do not correlate with ε. A line may
// be turned: it has the other sign in the second half, and is orthogonal to one of the
// same frequency that is not; frames in the middle may be skipped.
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
	// Pull[channel][line] is how large a variance per axis of the phasor, at most, the
	// shared parameters add to that, over that of a lone tone.
	Pull [][]float64
	// EpsVar is the variance of ε of each clock for noise of unit variance; 0 where it is
	// held.
	EpsVar    []float64
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

// What a turned tone must be free of is hum of the same frequency and as strong as it may
// be: that takes blocks a quarter as long.
func (m *Model) blockFrames() int {
	n := min(LongestBlock, 2*int(m.RateHz*blockSeconds/2))
	if m.Skip > 0 {
		n = n / 8 * 2
	}
	return max(8, n)
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
	f.Shrinkage = gram.inflation(f.Used())
	f.setPull(pass, gram)
	return f, nil
}

// Used is how many frames the fit looked at.
func (f *Fit) Used() int { return f.Frames - f.Model.Skip }

// setPull finds what the variance of the shared parameters does to the phasors.
func (f *Fit) setPull(p *fitPass, g *gram) {
	shared, explained := f.normal(p, g)
	cov := shared.inverse()
	f.EpsVar = make([]float64, len(f.Model.Eps))
	for k := range f.EpsVar {
		if cov != nil {
			f.EpsVar[k] = cov.At(k, k)
		}
	}
	out := make([][]float64, len(f.Amp))
	for ch := range out {
		out[ch] = make([]float64, g.lines)
		for l := range out[ch] {
			v := 0.0
			for k, y := range explained[ch] {
				for j, z := range explained[ch] {
					if y != nil && z != nil && cov != nil {
						a, b := g.lineStep(y, l), g.lineStep(z, l)
						v += cov.At(k, j) * (real(a)*real(b) + imag(a)*imag(b))
					}
				}
			}
			out[ch][l] = v * float64(f.Used()) / 2
		}
	}
	f.Pull = out
}

// update solves one Gauss–Newton step and applies it. It returns the largest
// movement of phase, in radians at the ends of the stretch, or of amplitude
// relative to the strongest line, whichever is more.
func (f *Fit) update(p *fitPass, g *gram, start Model) float64 {
	m := f.Model
	shared, explained := f.normal(p, g)
	step := shared.solve()
	move := 0.0
	deltas := shared.deltas
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

// normal sets up the equations of the shared parameters; explained is how the linear
// ones answer to these, per channel.
func (f *Fit) normal(p *fitPass, g *gram) (shared *sharedStep, explained [][]*mat.VecDense) {
	shared = newSharedStep(f.Model, f.Frames)
	variance, channels := 0.0, len(f.Amp)
	for ch := range channels {
		variance += sparseMeanSquare(f.Residual[ch]) / float64(channels)
		shared.addChannel(f.Amp[ch], p, ch, g)
		delta := g.solve(g.rhs(p.proj[ch], p.polyProj[ch]))
		shared.deltas = append(shared.deltas, delta)
		explained = append(explained, shared.eliminate(g, g.coupling(f.Model, f.Amp[ch]), delta))
	}
	shared.addPrior(variance)
	return shared, explained
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
