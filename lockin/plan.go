package lockin

import (
	"math"

	"example.org/wheatear/lockin/internal/filter"
	"example.org/wheatear/lockin/internal/follow"
	"example.org/wheatear/lockin/internal/phase"
)

// plan is a configuration with what follows from it.
type plan struct {
	Config
	steps []phase.Turns // of each reference, with TonesHz
	mean  []int         // frames averaged for each reference; nil without Cycles
	fir   filter.FIR
	poles filter.Poles
}

func (c Config) plan() (plan, error) {
	c, err := c.withDefaults()
	if err != nil {
		return plan{}, err
	}
	p := plan{Config: c}
	if err := p.average(); err != nil {
		return p, err
	}
	for _, f := range c.TonesHz {
		p.steps = append(p.steps, p.stepsOf(f)...)
	}
	switch f := c.Filter; {
	case f.linear():
		pass, stop := f.PassHz/c.RateHz, f.StopHz/c.RateHz
		if c.Every == 0 {
			p.Every = filter.FIREvery(pass, stop, f.StopDB)
		}
		var ok bool
		if p.fir, ok = filter.NewFIR(pass, stop, f.StopDB, p.Every); !ok {
			return p, refuse("Filter.PassHz %g and StopHz %g are so close that the filter would need more than %d taps: set them farther apart, or Every to a number that divides well", f.PassHz, f.StopHz, filter.MostTaps)
		}
	case !f.dumps():
		p.poles = filter.NewPoles(f.Poles, f.TauS*c.RateHz)
		if c.Every == 0 {
			p.Every = p.poles.Every(-80)
		}
	}
	return p, nil
}

// stepsOf returns the phase steps of a tone's harmonics.
func (p *plan) stepsOf(freqHz float64) []phase.Turns {
	out := make([]phase.Turns, len(p.Harmonics))
	for i, h := range p.Harmonics {
		out[i] = phase.StepOf(freqHz, p.RateHz).Times(uint64(h))
	}
	return out
}

// average sets the frames of an average over whole cycles of each tone.
func (p *plan) average() error {
	if p.Filter.Cycles == 0 {
		return nil
	}
	longest := 0
	for i, f := range p.TonesHz {
		n := math.Round(float64(p.Filter.Cycles) * p.RateHz / f)
		if !(n >= 1 && n <= mostAveraged) {
			return refuse("Filter.Cycles is %d: %g frames of Config.TonesHz[%d], want 1 to %d", p.Filter.Cycles, n, i, mostAveraged)
		}
		longest = max(longest, int(n))
		for range p.Harmonics {
			p.mean = append(p.mean, int(n))
		}
	}
	if p.Filter.dumps() {
		setDefault(&p.Every, longest)
		if p.Every < longest {
			return refuse("Config.Every is %d, want at least the %d frames of an average, or poles behind it", p.Every, longest)
		}
	}
	return nil
}

// references returns the phasors per channel.
func (p *plan) references() int { return p.tones() * len(p.Harmonics) }

// mixesApart reports whether exp(−jφ) is needed frame by frame.
func (p *plan) mixesApart() bool { return len(p.TonesHz) == 0 || p.byFrame() }

// byFrame reports whether poles run frame by frame.
func (p *plan) byFrame() bool {
	return p.Filter.Poles > 0 && (p.Every < filter.ShortestBlock || p.mean != nil)
}

// filter returns the filters of a new stream.
func (p *plan) filter() filter.Filter {
	refs := p.references()
	switch {
	case p.Filter.dumps():
		return filter.NewDump(p.mean, p.steps, p.Channels, p.Every)
	case p.Filter.linear() && p.mixesApart():
		return filter.NewMixedFIR(p.fir, refs, p.Channels)
	case p.Filter.linear():
		return filter.NewToneFIR(p.fir, p.steps, p.Channels)
	case p.byFrame():
		return filter.NewCascade(p.poles, p.mean, refs, p.Channels, p.Every)
	case p.mixesApart():
		return filter.NewMixedBlocks(p.poles, refs, p.Channels, p.Every)
	}
	return filter.NewToneBlocks(p.poles, p.steps, p.Channels, p.Every)
}

// lock returns the lock of a new stream, nil where there is none.
func (p *plan) lock() *follow.Lock {
	if !p.locks() {
		return nil
	}
	return follow.New(follow.Config{RateHz: p.RateHz, NearHz: p.Lock.NearHz, RangeHz: p.Lock.RangeHz,
		LoopHz: p.Lock.LoopHz, Harmonics: p.Harmonics})
}

// settledEps is what may be left of a disturbance in a settled output.
const settledEps = 1e-4

// settling returns the frames after which a share eps of a step is left in a reference.
func (p *plan) settling(reference int, eps float64) float64 {
	averaged := 0.0
	if p.mean != nil {
		averaged = float64(p.mean[reference])
	}
	return averaged + p.settlingBehind(eps)
}

// settlingBehind is the same without the average.
func (p *plan) settlingBehind(eps float64) float64 {
	switch {
	case p.Filter.linear():
		return p.fir.Settling(eps)
	case p.Filter.dumps():
		return 0
	}
	return p.poles.Settling(eps)
}

// settleFrames returns after how many frames every reference is settled.
func (p *plan) settleFrames() int64 {
	averaged := 0
	for _, n := range p.mean {
		averaged = max(averaged, n)
	}
	return int64(averaged) + int64(math.Ceil(p.settlingBehind(settledEps)))
}
