// Package stimulus plans tones and makes the samples to play.
package stimulus

import (
	"errors"
	"example.org/wheatear/lockin/internal/num"
	"example.org/wheatear/lockin/internal/phase"
	"fmt"
	"math"
	"math/bits"
	"slices"
)

// ErrPlan is wrapped by errors about stimuli that cannot be made.
var ErrPlan = errors.New("lockin: impossible stimulus")

// ToneRequest is a tone that is wanted.
type ToneRequest struct {
	FreqHz  float64
	Movable bool // the tone may be moved a little to a better place
}

// DefaultMaxMove is how far, relative, a plan moves a movable tone.
const DefaultMaxMove = 0.05

// Config says what kind of stimulus is wanted. The zero value of a field
// means its default.
type Config struct {
	RateHz      float64   // samples per second; required
	Seconds     float64   // whole length with lead and fades, met to within a period; default 1 s
	LeadS       float64   // silence before the tones; default none
	FadeS       float64   // raised-cosine fade at either end; default 20 ms, at most a quarter of the rest
	NoFade      bool      // begin and end abruptly, and turn no sign
	NoTurn      bool      // keep the sign of tones that lie on a mains multiple, see Plan.TurnFrame
	Peak        float64   // highest value of the waveform between samples too, full scale = 1; default 0.5
	MainsHz     float64   // 50 or 60; default: kept clear of both
	MaxMove     float64   // how far a movable tone may go, relative; default DefaultMaxMove
	MaxHarmonic int       // movable tones keep off each other's harmonics up to this one; default 7
	Phases      PhaseRule // default Newman
	Weights     []float64 // relative amplitude of each tone; default all equal
}

// PlannedTone is a tone of a stimulus.
type PlannedTone struct {
	RequestedHz float64
	FreqHz      float64
	Cycles      int     // in Period samples; 0 where the tone lies on no grid
	Period      int     // samples; 0 where the tone lies on no grid
	Amplitude   float64 // peak, full scale = 1
	PhaseRad    float64 // at the first frame after the lead
	OnMains     bool    // nearer to a mains multiple than a record of this length can separate well
	OnHarmonic  bool    // on a harmonic of another tone
}

// Plan is a planned stimulus: the lead, a fade, whole periods, a fade. It is
// immutable; [TonePlan.Stimulus] plays it.
type Plan struct {
	Config       Config        // with the defaults filled in
	Tones        []PlannedTone // in the order of the requests
	Period       int           // samples after which every tone repeats; 0 if there is no such length up to SteadyFrames
	LeadFrames   int
	FadeFrames   int // each
	SteadyFrames int // between the fades; a multiple of Period where there is one
	CrestFactor  float64
	// TurnFrame is the frame before which the sign of all tones turns, in the middle of the
	// steady part; 0 where it does not. It is turned where a tone lies on one of the first
	// 16 mains multiples, or too near to it for the record to separate the two: hum keeps
	// its sign, so that the fit of a record tells them apart. The tones go down to zero by a
	// raised cosine of 20 ms and up again by its mirror, with the phase going on; of the
	// lowest tone that needs it at a crest, so that couplings are left without a charge.
	TurnFrame int
}

// Frames returns the length of the stimulus.
func (p *Plan) Frames() int { return p.LeadFrames + 2*p.FadeFrames + p.SteadyFrames }

const (
	// planPeriodS is the period aimed at: tones can be placed every 10 Hz.
	planPeriodS = 0.1
	// mainsClearHz is how far a tone keeps from mains multiples if it can: the
	// frequency of a grid wanders by 0.1 % or so (common practice, no source), a
	// hertz at the twentieth harmonic, and fits of both need room.
	mainsClearHz = 4
	// mainsClearBins is the same in units of one over the length of the record.
	mainsClearBins = 4
	// maxStimulusFrames bounds what a plan may ask for: two days at 192 kHz.
	maxStimulusFrames = 1 << 35
)

func (c Config) withDefaults(tones int) (Config, error) {
	num.SetDefault(&c.Seconds, 1)
	if c.NoFade {
		c.FadeS = 0
	} else {
		num.SetDefault(&c.FadeS, 0.02)
	}
	num.SetDefault(&c.Peak, 0.5)
	num.SetDefault(&c.MaxMove, DefaultMaxMove)
	if c.MaxHarmonic == 0 {
		c.MaxHarmonic = 7
	}
	c.Weights = slices.Clone(c.Weights)
	if c.Weights == nil {
		c.Weights = make([]float64, tones)
		for i := range c.Weights {
			c.Weights[i] = 1
		}
	}
	return c, c.check(tones)
}

func (c Config) check(tones int) error {
	switch {
	case !(c.RateHz > 0) || math.IsInf(c.RateHz, 0):
		return fmt.Errorf("%w: rate %g Hz", ErrPlan, c.RateHz)
	case tones == 0:
		return fmt.Errorf("%w: no tone", ErrPlan)
	case !(c.Seconds > 0) || c.Seconds*c.RateHz > maxStimulusFrames:
		return fmt.Errorf("%w: length %g s", ErrPlan, c.Seconds)
	case !(c.LeadS >= 0) || !(c.FadeS >= 0) || c.LeadS >= c.Seconds:
		return fmt.Errorf("%w: lead %g s and fade %g s in %g s", ErrPlan, c.LeadS, c.FadeS, c.Seconds)
	case !(c.Peak > 0) || c.Peak > 1:
		return fmt.Errorf("%w: peak %g, want more than 0 and at most 1 (full scale)", ErrPlan, c.Peak)
	case !(c.MaxMove > 0) || c.MaxMove > 0.5 || c.MaxHarmonic < 0:
		return fmt.Errorf("%w: move by up to %g, harmonics up to %d", ErrPlan, c.MaxMove, c.MaxHarmonic)
	case c.MainsHz != 0 && c.MainsHz != 50 && c.MainsHz != 60:
		return fmt.Errorf("%w: mains of %g Hz, want 50, 60 or 0 for both", ErrPlan, c.MainsHz)
	case len(c.Weights) != tones:
		return fmt.Errorf("%w: %d weights for %d tones", ErrPlan, len(c.Weights), tones)
	}
	for i, w := range c.Weights {
		if !(w > 0) || math.IsInf(w, 0) {
			return fmt.Errorf("%w: weight %g of tone %d", ErrPlan, w, i+1)
		}
	}
	return nil
}

// PlanTones plans a stimulus. Movable tones go, within MaxMove, to k·rate/P with
// one large prime P for all: then each makes whole cycles in P frames, no loss of
// fewer than P frames leaves its phase as it was, and none is a harmonic of
// another. They keep clear of mains multiples. The other tones stay exactly where
// they are asked for; the steady part is a multiple of the common period where it
// is long enough to hold one.
//
// The error wraps [ErrPlan]: no tone, a tone not between 0 and half the rate, two
// equal ones, a length that holds less than one cycle of the lowest tone, or a
// field out of its range.
func PlanTones(cfg Config, requests []ToneRequest) (*Plan, error) {
	cfg, err := cfg.withDefaults(len(requests))
	if err != nil {
		return nil, err
	}
	if err := checkRequests(cfg, requests); err != nil {
		return nil, err
	}
	p := &Plan{Config: cfg, Tones: make([]PlannedTone, len(requests))}
	room := p.layOut()
	for i, r := range requests {
		if cycles := r.FreqHz * float64(room) / cfg.RateHz; r.Movable && cycles*(1+cfg.MaxMove) < 1 {
			return nil, fmt.Errorf("%w: tone %d of %g Hz makes %.2g cycles in the %d frames between the fades, want at least one: make it longer",
				ErrPlan, i+1, r.FreqHz, cycles, room)
		}
	}
	p.place(requests, room)
	if err := p.checkApart(room); err != nil {
		return nil, err
	}
	p.settleLength(room)
	p.markConflicts()
	p.scale()
	p.settleTurn()
	return p, nil
}

func checkRequests(cfg Config, requests []ToneRequest) error {
	for i, r := range requests {
		if !(r.FreqHz > 0) || r.FreqHz >= cfg.RateHz/2 {
			return fmt.Errorf("%w: tone %d of %g Hz, want more than 0 and less than %g (half the rate)", ErrPlan, i+1, r.FreqHz, cfg.RateHz/2)
		}
	}
	return nil
}

// layOut sets the lead and the fades and returns the frames left for the steady part.
func (p *Plan) layOut() int {
	rate := p.Config.RateHz
	total := int(math.Round(p.Config.Seconds * rate))
	p.LeadFrames = int(math.Round(p.Config.LeadS * rate))
	rest := total - p.LeadFrames
	p.FadeFrames = min(int(math.Round(p.Config.FadeS*rate)), rest/4)
	return rest - 2*p.FadeFrames
}

// place puts the fixed tones where they belong and then the movable ones, the
// lowest first as it has the least choice.
func (p *Plan) place(requests []ToneRequest, room int) {
	var movable []int
	placer := placer{cfg: p.Config, period: p.movePeriod(requests, room), seconds: float64(room) / p.Config.RateHz}
	for i, r := range requests {
		if r.Movable && placer.period > 1 {
			movable = append(movable, i)
			continue
		}
		p.Tones[i] = p.fixedTone(r)
		placer.taken = append(placer.taken, r.FreqHz)
	}
	sortBy(movable, func(i int) float64 { return requests[i].FreqHz })
	for _, i := range movable {
		k := placer.best(requests[i].FreqHz)
		freq := float64(k) * p.Config.RateHz / float64(placer.period)
		placer.taken = append(placer.taken, freq)
		p.Tones[i] = PlannedTone{RequestedHz: requests[i].FreqHz, FreqHz: freq, Cycles: k, Period: placer.period}
	}
}

func (p *Plan) fixedTone(r ToneRequest) PlannedTone {
	t := PlannedTone{RequestedHz: r.FreqHz, FreqHz: r.FreqHz}
	if k, period, ok := phase.Grid(r.FreqHz, p.Config.RateHz); ok {
		t.Cycles, t.Period = k, period
	}
	return t
}

// movePeriod returns the prime period for the movable tones: about planPeriodS,
// longer where the lowest of them needs finer steps to have a choice within
// MaxMove, and no longer than the room or the fold allows; 0 where none move.
func (p *Plan) movePeriod(requests []ToneRequest, room int) int {
	want, any := planPeriodS*p.Config.RateHz, false
	for _, r := range requests {
		if r.Movable {
			any = true
			want = math.Max(want, p.Config.RateHz/(p.Config.MaxMove*r.FreqHz))
		}
	}
	if !any {
		return 0
	}
	return primeUpTo(int(math.Min(want, float64(min(room, phase.MaxGridPeriod)))))
}

// primeUpTo returns the largest prime not above n, or 0.
func primeUpTo(n int) int {
	for ; n >= 2; n-- {
		if isPrime(n) {
			return n
		}
	}
	return 0
}

func isPrime(n int) bool {
	for d := 2; d*d <= n; d++ {
		if n%d == 0 {
			return false
		}
	}
	return n >= 2
}

// checkApart refuses equal tones and records shorter than a cycle of the lowest.
func (p *Plan) checkApart(room int) error {
	for i, t := range p.Tones {
		if cycles := t.FreqHz * float64(room) / p.Config.RateHz; cycles < 1 {
			return fmt.Errorf("%w: %g Hz makes %.2g cycles in the %d frames between the fades, want at least one: make it longer",
				ErrPlan, t.FreqHz, cycles, room)
		}
		for j, u := range p.Tones[:i] {
			if t.FreqHz == u.FreqHz {
				return fmt.Errorf("%w: tones %d and %d are both %g Hz", ErrPlan, j+1, i+1, t.FreqHz)
			}
		}
	}
	return nil
}

// settleLength makes the steady part whole periods: of all tones where the room
// holds one, else of the movable ones.
func (p *Plan) settleLength(room int) {
	p.SteadyFrames = room
	all, moved := 1, 0
	for _, t := range p.Tones {
		all = commonPeriod(all, t.Period, room)
		if t.FreqHz != t.RequestedHz {
			moved = t.Period
		}
	}
	if all != 0 {
		p.Period, p.SteadyFrames = all, room/all*all
	} else if moved != 0 {
		p.SteadyFrames = room / moved * moved
	}
}

// commonPeriod returns the least common multiple, or 0 where one of the two is 0
// or the result exceeds limit.
func commonPeriod(a, b, limit int) int {
	if a == 0 || b == 0 {
		return 0
	}
	hi, lo := bits.Mul64(uint64(a/num.Gcd(a, b)), uint64(b))
	if hi != 0 || lo > uint64(limit) {
		return 0
	}
	return int(lo)
}

// markConflicts notes what could not be avoided, mostly with fixed tones.
func (p *Plan) markConflicts() {
	seconds := float64(p.SteadyFrames) / p.Config.RateHz
	placer := placer{cfg: p.Config, seconds: seconds}
	for _, t := range p.Tones {
		placer.taken = append(placer.taken, t.FreqHz)
	}
	for i := range p.Tones {
		t := &p.Tones[i]
		t.OnMains = placer.mainsDistance(t.FreqHz) < 2/seconds
		t.OnHarmonic = placer.clashes(t.FreqHz, 1/seconds)
	}
}
