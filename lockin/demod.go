package lockin

import (
	"errors"
	"example.org/wheatear/lockin/internal/num"
	"example.org/wheatear/lockin/internal/phase"
	"fmt"
	"math"
	"slices"
)

// ErrDemod is wrapped by errors about demodulator settings.
var ErrDemod = errors.New("lockin: unusable demodulator setting")

// DemodConfig says what to demodulate and how narrowly. The zero value of a field
// means its default.
type DemodConfig struct {
	RateHz        float64   // samples per second; required
	TonesHz       []float64 // tones to demodulate; one of this and ReferenceHz is required
	ReferenceHz   float64   // instead: lock to the tone near this frequency in a reference channel
	Harmonics     []int     // which harmonics of each tone, or of the reference; default the first
	TimeConstantS float64   // of each low-pass section; default 0.1 s
	Poles         int       // 1 to 8 sections, 6 dB per octave each; default 4
	SyncCycles    int       // also average over this many whole cycles; default none
	Every         int       // one output per so many frames; default 1
	LoopHz        float64   // bandwidth of the lock; default a fiftieth of ReferenceHz
}

// maxSyncFrames bounds the memory of a synchronous average: 64 MB a tone.
const maxSyncFrames = 1 << 22

// Plan is a demodulator's settings, checked and with the defaults filled in. It
// is immutable and safe for concurrent use; each stream has its own
// [Demodulator].
type Plan struct {
	config  DemodConfig
	lowPass LowPass
	steps   []phase.Turns // one per output: tone by tone, harmonic by harmonic
	sync    []int         // frames averaged by each output; 1 is no average
}

// NewPlan checks the settings. The error wraps [ErrDemod] or [ErrFrequency].
func NewPlan(cfg DemodConfig) (*Plan, error) {
	cfg, err := cfg.withDefaults()
	if err != nil {
		return nil, err
	}
	p := &Plan{config: cfg, lowPass: LowPass{cfg.TimeConstantS, cfg.Poles}}
	tones := cfg.TonesHz
	if cfg.ReferenceHz != 0 {
		tones = []float64{cfg.ReferenceHz}
	}
	for _, f := range tones {
		frames, err := cfg.syncFrames(f)
		if err != nil {
			return nil, err
		}
		for _, h := range cfg.Harmonics {
			p.steps = append(p.steps, phase.StepOf(f, cfg.RateHz).Times(uint64(h)))
			p.sync = append(p.sync, frames)
		}
	}
	return p, nil
}

func (c DemodConfig) withDefaults() (DemodConfig, error) {
	num.SetDefault(&c.TimeConstantS, 0.1)
	num.SetDefault(&c.LoopHz, c.ReferenceHz/50)
	if c.Poles == 0 {
		c.Poles = 4
	}
	if c.Every == 0 {
		c.Every = 1
	}
	c.TonesHz, c.Harmonics = slices.Clone(c.TonesHz), slices.Clone(c.Harmonics)
	if len(c.Harmonics) == 0 {
		c.Harmonics = []int{1}
	}
	if err := phase.CheckFrequencies(append(slices.Clone(c.TonesHz), c.ReferenceHz, c.LoopHz), c.RateHz); err != nil {
		return c, err
	}
	return c, c.check()
}

func (c DemodConfig) check() error {
	switch {
	case (len(c.TonesHz) == 0) == (c.ReferenceHz == 0):
		return fmt.Errorf("%w: want either tones or a reference", ErrDemod)
	case c.Poles < 1 || c.Poles > 8:
		return fmt.Errorf("%w: %d poles, want 1 to 8", ErrDemod, c.Poles)
	case !(c.TimeConstantS > 0) || math.IsInf(c.TimeConstantS, 0):
		return fmt.Errorf("%w: time constant %g s", ErrDemod, c.TimeConstantS)
	case c.Every < 1 || c.SyncCycles < 0:
		return fmt.Errorf("%w: an output every %d frames, averages over %d cycles", ErrDemod, c.Every, c.SyncCycles)
	case c.ReferenceHz != 0 && !(c.ReferenceHz > 0 && c.ReferenceHz <= c.RateHz/4):
		return fmt.Errorf("%w: reference of %g Hz, want more than 0 and at most %g (a quarter of the rate)", ErrDemod, c.ReferenceHz, c.RateHz/4)
	case c.ReferenceHz != 0 && !(c.LoopHz > 0 && c.LoopHz <= c.ReferenceHz/20):
		return fmt.Errorf("%w: loop of %g Hz, want more than 0 and at most %g (a twentieth of the reference)", ErrDemod, c.LoopHz, c.ReferenceHz/20)
	}
	for _, h := range c.Harmonics {
		if h < 1 {
			return fmt.Errorf("%w: harmonic %d, want 1 or more", ErrDemod, h)
		}
	}
	for i, f := range c.TonesHz {
		if f < 0 {
			return fmt.Errorf("%w: tone %d is %g Hz", ErrDemod, i+1, f)
		}
	}
	return nil
}

// syncFrames returns the length of the average for a tone: SyncCycles cycles, to
// the nearest frame. On its grid a tone can have that exactly.
func (c DemodConfig) syncFrames(freqHz float64) (int, error) {
	if c.SyncCycles == 0 {
		return 1, nil
	}
	n := math.Round(float64(c.SyncCycles) * c.RateHz / freqHz)
	if !(n >= 1 && n <= maxSyncFrames) {
		return 0, fmt.Errorf("%w: %d cycles of %g Hz are %g frames, want 1 to %d", ErrDemod, c.SyncCycles, freqHz, n, maxSyncFrames)
	}
	return int(n), nil
}

// Config returns the settings with the defaults filled in.
func (p *Plan) Config() DemodConfig {
	c := p.config
	c.TonesHz, c.Harmonics = slices.Clone(c.TonesHz), slices.Clone(c.Harmonics)
	return c
}

// Width returns the number of phasors in an output: tones times harmonics, the
// harmonics of one tone side by side.
func (p *Plan) Width() int { return len(p.steps) }

// LowPass returns the filter behind the mixer, with its bandwidth and settling.
func (p *Plan) LowPass() LowPass { return p.lowPass }

// ENBWHz returns the one-sided equivalent noise bandwidth of output i as it runs
// on samples, the synchronous average included. Noise of standard deviation σ per
// sample gives each axis of the phasor the standard deviation
//
//	2σ·√(ENBW/rate)
//
// With an average it is found from the response to one impulse, which takes about
// fifty time constants' worth of samples to compute.
func (p *Plan) ENBWHz(i int) float64 {
	if p.sync[i] == 1 {
		return p.lowPass.SampledENBWHz(p.config.RateHz)
	}
	channel := p.channel(i)
	end := p.sync[i] + int(p.lowPass.SettlingS(1e-13)*p.config.RateHz) + 1
	sum, in := 0.0, complex128(1)
	for range end {
		h := real(channel.filter(in))
		sum += h * h
		in = 0
	}
	return sum * p.config.RateHz / 2
}

// SettlingS returns the time after a step of the tone until a share eps of it is
// left in output i: that of the low-pass, plus the length of the average.
func (p *Plan) SettlingS(i int, eps float64) float64 {
	s := p.lowPass.SettlingS(eps)
	if p.sync[i] > 1 {
		s += float64(p.sync[i]) / p.config.RateHz
	}
	return s
}

// channel returns the filters of output i at rest.
func (p *Plan) channel(i int) demodChannel {
	_, gain := p.lowPass.coefficients(p.config.RateHz)
	c := demodChannel{step: p.steps[i], sections: sections{gain, make([]complex128, p.lowPass.Poles)}}
	if p.sync[i] > 1 {
		c.mean = &slidingMean{ring: make([]complex128, p.sync[i])}
	}
	return c
}

// demodChannel is what one phasor of the output passes through.
type demodChannel struct {
	step phase.Turns
	sections
	mean  *slidingMean
	ahead [demodBlock]complex128 // 2·exp(−jθi)
}

func (c *demodChannel) filter(v complex128) complex128 {
	if c.mean != nil {
		v = c.mean.step(v)
	}
	return c.sections.step(v)
}
