package stimulus

import (
	"math"

	"example.org/wheatear/lockin/internal/joint"
	"example.org/wheatear/lockin/internal/phase"
)

// stimulusBlock samples of a tone share one exact phase.
const stimulusBlock = 64

// Stimulus plays a [TonePlan] block by block. The phase of every tone is kept as
// an integer fraction of a turn: the last cycle of an hour is as exact as the
// first. It is not safe for concurrent use.
type Stimulus struct {
	plan *Plan
	tone []playedTone
	at   int // frames played
}

type playedTone struct {
	step      phase.Turns
	amplitude complex128
	ahead     [stimulusBlock]complex128
}

// Stimulus returns a player at the first frame of the plan.
func (p *Plan) Stimulus() *Stimulus {
	s := &Stimulus{plan: p, tone: make([]playedTone, len(p.Tones))}
	for i, t := range p.Tones {
		played := &s.tone[i]
		played.step = phase.TurnsOf(t.FreqHz, p.Config.RateHz)
		if t.Period != 0 {
			played.step = phase.GridTurns(uint64(t.Cycles), uint64(t.Period))
		}
		sin, cos := math.Sincos(t.PhaseRad)
		played.amplitude = complex(t.Amplitude*cos, t.Amplitude*sin)
		phase.FillPhasors(played.ahead[:], phase.Turns{}, played.step)
	}
	return s
}

// Read fills dst with the next frames, full scale = 1, and returns how many: fewer
// than len(dst) only at the end, then 0. It does not allocate.
func (s *Stimulus) Read(dst []float64) int {
	if s.plan == nil {
		return 0
	}
	n := min(len(dst), s.plan.Frames()-s.at)
	dst = dst[:n]
	clear(dst)
	if silent := s.plan.LeadFrames - s.at; silent > 0 {
		skip := min(silent, n)
		dst, s.at = dst[skip:], s.at+skip
	}
	for len(dst) > 0 {
		m := min(stimulusBlock, len(dst))
		s.block(dst[:m])
		dst, s.at = dst[m:], s.at+m
	}
	return n
}

// block adds up the tones over at most stimulusBlock frames and fades them.
func (s *Stimulus) block(dst []float64) {
	at := s.at - s.plan.LeadFrames
	for i := range s.tone {
		t := &s.tone[i]
		w := t.amplitude * t.step.Times(uint64(at)).Phasor()
		re, im := real(w), imag(w)
		for j := range dst {
			dst[j] += re*real(t.ahead[j]) - im*imag(t.ahead[j])
		}
	}
	s.fade(dst, at)
	s.turn(dst)
}

// turn gives the frames from s.at on the sign that they have.
func (s *Stimulus) turn(dst []float64) {
	if s.plan.TurnFrame == 0 {
		return
	}
	for j := range dst {
		dst[j] *= joint.Sign((float64(s.at+j-s.plan.TurnFrame) + 0.5) / s.plan.Config.RateHz)
	}
}

// fade applies ½(1 − cos(π(n+½)/F)) at the beginning and its mirror at the end.
func (s *Stimulus) fade(dst []float64, at int) {
	f := s.plan.FadeFrames
	total := s.plan.SteadyFrames + 2*f
	if at >= f && at+len(dst) <= total-f {
		return
	}
	for j := range dst {
		if edge := min(at+j, total-1-at-j); edge < f {
			dst[j] *= 0.5 - 0.5*math.Cos(math.Pi*(float64(edge)+0.5)/float64(f))
		}
	}
}
