package stimulus

import (
	"math"
	"sort"
)

// placer finds good places for movable tones.
type placer struct {
	cfg     Config
	period  int       // samples; tones go to k·rate/period
	seconds float64   // length of the part that will be analysed
	taken   []float64 // Hz, tones placed already
}

// best returns the number of cycles k for a tone wanted at freqHz: the nearest
// place that is clear of mains and of the other tones' harmonics, or the least
// bad one within reach. Where nothing lies within reach it is the nearest free.
func (p *placer) best(freqHz float64) int {
	step := p.cfg.RateHz / float64(p.period)
	reach := p.cfg.MaxMove * freqHz
	best, least := 0, math.Inf(1)
	low, high := p.within(freqHz-reach, freqHz+reach)
	for k := low; k <= high; k++ {
		if c := p.cost(float64(k)*step, freqHz, reach, step); c < least {
			best, least = k, c
		}
	}
	if best != 0 {
		return best
	}
	return p.nearestFree(freqHz / step)
}

// within returns the range of k for frequencies from low to high.
func (p *placer) within(lowHz, highHz float64) (int, int) {
	perHz := float64(p.period) / p.cfg.RateHz
	return max(1, int(math.Ceil(lowHz*perHz))), min((p.period-1)/2, int(highHz*perHz))
}

// cost is 0 at the place asked for and 1 at the end of the reach; a mains line
// hard by costs as much as four such moves, a harmonic more than anything.
func (p *placer) cost(at, wanted, reach, step float64) float64 {
	if p.occupied(at, step) {
		return math.Inf(1)
	}
	move := (at - wanted) / reach
	cost := move * move
	clear := math.Max(mainsClearHz, mainsClearBins/p.seconds)
	if d := p.mainsDistance(at); d < clear {
		cost += 4 * (1 - d/clear)
	}
	if p.clashes(at, 0.75*step) {
		cost += 100
	}
	return cost
}

// occupied reports whether another tone is within three quarters of a step.
func (p *placer) occupied(at, step float64) bool {
	for _, t := range p.taken {
		if math.Abs(t-at) < 0.75*step {
			return true
		}
	}
	return false
}

// clashes reports whether freqHz is a harmonic of another tone, or the reverse,
// to within tolHz.
func (p *placer) clashes(freqHz, tolHz float64) bool {
	for _, t := range p.taken {
		low, high := math.Min(t, freqHz), math.Max(t, freqHz)
		h := math.Round(high / low)
		if h >= 2 && h <= float64(p.cfg.MaxHarmonic) && math.Abs(high-h*low) < tolHz {
			return true
		}
	}
	return false
}

// mainsDistance returns how far freqHz is from the nearest mains multiple.
func (p *placer) mainsDistance(freqHz float64) float64 {
	nearest := math.Inf(1)
	for _, mains := range []float64{50, 60} {
		if p.cfg.MainsHz == 0 || p.cfg.MainsHz == mains {
			h := math.Max(1, math.Round(freqHz/mains))
			nearest = math.Min(nearest, math.Abs(freqHz-h*mains))
		}
	}
	return nearest
}

// nearestFree returns the free k nearest to k0; where every place is taken it
// returns a taken one, which the caller refuses.
func (p *placer) nearestFree(k0 float64) int {
	step := p.cfg.RateHz / float64(p.period)
	last := max(1, (p.period-1)/2)
	start := min(max(1, int(math.Round(k0))), last)
	for d := 0; d <= last; d++ {
		for _, k := range []int{start - d, start + d} {
			if k >= 1 && k <= last && !p.occupied(float64(k)*step, step) {
				return k
			}
		}
	}
	return start
}

// sortBy sorts indices by a key, keeping the order of equals.
func sortBy(index []int, key func(int) float64) {
	sort.SliceStable(index, func(a, b int) bool { return key(index[a]) < key(index[b]) })
}
