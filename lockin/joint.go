package lockin

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

// line is one sinusoid of the model.
type line struct {
	mains bool
	base  float64 // tone: frequency in Hz before the factor 1+ε; mains: order
	tone  int     // index of the tone that it belongs to; -1 for mains
	order int     // 1 for a tone itself, k for its harmonic; order of the mains line
	clock int     // which ε moves it; unused for mains
}

// jointModel is what is fitted: lines and which of the shared parameters are free.
// Tones that were played together share one clock; those that were merely found have
// each their own.
type jointModel struct {
	rateHz                  float64
	lines                   []line
	degree                  int       // of the polynomial, up to 2; -1 for none
	eps                     []float64 // one per clock; start values
	epsBound                []float64 // each stays within this of its start
	freeEps                 bool
	mainsHz, chirp          float64 // chirp in Hz/s, of the fundamental; both free or both held
	mainsCentre, mainsBound float64 // the mains frequency stays within this of that
	chirpMax                float64 // and its drift within this of 0
	freeMains               bool
}

// jointFit is the outcome.
type jointFit struct {
	model     *jointModel // with the shared parameters as fitted
	frames    int
	amp       [][]complex128 // [channel][line]
	poly      [][]float64    // [channel][degree]
	power     [][3]float64   // the same as a power series
	residual  [][]float64
	shrinkage []float64 // per line: variance of a phasor over that of a lone tone
	steps     int
	converged bool
}

var errSingular = errors.New("lockin: tones or lines too close together for a record of this length")

// A block of samples shares one phase rotation: the longest that keeps a mains line of
// order 9, drifting 5 mHz/s for half a second, right to 1e-4 rad within a block at the
// far ends (and on average by nothing).
const (
	longestBlock = 128
	blockSeconds = 2.7e-3
)

func blockFrames(rateHz float64) int {
	return max(8, min(longestBlock, 2*int(rateHz*blockSeconds/2)))
}

// Each step moves some thirty times less than the one before it; what a fine fit
// leaves is then below 1e-8 of the strongest line.
const (
	maxFitSteps = 12
	fineFit     = 2e-7
	roughFit    = 1e-4
)

// freqHz returns the frequency of line l in the middle of the stretch.
func (m *jointModel) freqHz(l line) float64 {
	if l.mains {
		return l.base * m.mainsHz
	}
	return l.base * (1 + m.eps[l.clock])
}

// fitJoint fits the model to all channels of x. It works on copies of the model.
//
// It ends when no phase or amplitude moves by more than enough, a share of the
// strongest line.
func fitJoint(x [][]float64, model jointModel, enough float64) (*jointFit, error) {
	m := model
	m.eps = append([]float64(nil), model.eps...)
	f := &jointFit{model: &m, frames: len(x[0])}
	f.amp = make([][]complex128, len(x))
	f.poly = make([][]float64, len(x))
	f.residual = make([][]float64, len(x))
	f.power = make([][3]float64, len(x))
	for ch := range x {
		f.amp[ch] = make([]complex128, len(m.lines))
		f.poly[ch] = make([]float64, m.degree+1)
		f.residual[ch] = make([]float64, len(x[ch]))
	}
	pass := newFitPass(&m, f.frames, len(x))
	for f.steps = 1; f.steps <= maxFitSteps; f.steps++ {
		pass.run(f, x, true)
		gram, err := newGram(&m, f.frames)
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
	gram, err := newGram(&m, f.frames)
	if err != nil {
		return nil, err
	}
	f.shrinkage = gram.inflation()
	return f, nil
}

// update solves one Gauss–Newton step and applies it. It returns the largest
// movement of phase, in radians at the ends of the stretch, or of amplitude
// relative to the strongest line, whichever is more.
func (f *jointFit) update(p *fitPass, g *gram, start jointModel) float64 {
	m := f.model
	channels := len(f.amp)
	shared := newSharedStep(m, f.frames)
	deltas := make([]*mat.VecDense, channels)
	explained := make([][]*mat.VecDense, channels)
	variance := 0.0
	for ch := range deltas {
		variance += sparseMeanSquare(f.residual[ch]) / float64(channels)
		shared.addChannel(f.amp[ch], p, ch, g)
		deltas[ch] = g.solve(g.rhs(p.proj[ch], p.polyProj[ch]))
		explained[ch] = shared.eliminate(g, g.coupling(m, f.amp[ch]), deltas[ch])
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
	return math.Max(move, m.applyShared(step, start, f.frames))
}

// applyLinear adds the step of channel ch and returns its size relative to the
// channel's strongest line.
func (f *jointFit) applyLinear(ch int, delta *mat.VecDense, g *gram) float64 {
	largest, move := 0.0, 0.0
	for l := range f.amp[ch] {
		d := g.lineStep(delta, l)
		f.amp[ch][l] += d
		largest = math.Max(largest, cmplx.Abs(f.amp[ch][l]))
		move = math.Max(move, cmplx.Abs(d))
	}
	for p := range f.poly[ch] {
		f.poly[ch][p] += g.polyStep(delta, p)
	}
	if largest == 0 {
		return 0
	}
	return move / largest
}

// applyShared moves ε, the mains frequency and its drift within their bounds and
// returns the phase that this moves at the ends of the stretch.
func (m *jointModel) applyShared(step []float64, start jointModel, frames int) float64 {
	halfS := float64(frames) / m.rateHz / 2
	old := *m
	old.eps = append([]float64(nil), m.eps...)
	if m.freeEps {
		for k := range m.eps {
			m.eps[k] = within(m.eps[k]+step[k], start.eps[k], m.epsBound[k])
		}
	}
	if m.freeMains {
		m.mainsHz = within(m.mainsHz+step[len(m.eps)], m.mainsCentre, m.mainsBound)
		m.chirp = within(m.chirp+step[len(m.eps)+1], 0, m.chirpMax)
	}
	move := 0.0
	for _, l := range m.lines {
		d := m.freqHz(l) - old.freqHz(l)
		if l.mains {
			d += l.base * (m.chirp - old.chirp) * halfS / 2
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
