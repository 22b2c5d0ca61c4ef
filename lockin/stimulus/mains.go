package stimulus

import (
	"example.org/wheatear/lockin/internal/joint"
	"math"
)

// turnLeastS is the shortest steady part that is turned: about half of it is skipped.
const turnLeastS = 0.24

// settleTurn turns the tones in the middle of the steady part where one of them needs it.
func (p *Plan) settleTurn() {
	seconds := float64(p.SteadyFrames) / p.Config.RateHz
	if p.Config.NoFade || p.Config.NoTurn || seconds < turnLeastS {
		return
	}
	lowest := math.Inf(1)
	for _, t := range p.Tones {
		if _, order := MainsOrder(t.FreqHz, p.Config.MainsHz, seconds); order >= 1 && order <= joint.TurnOrders && t.FreqHz < lowest {
			lowest = t.FreqHz
			p.TurnFrame = p.LeadFrames + p.crest(t, p.FadeFrames+p.SteadyFrames/2)
		}
	}
}

// crest returns the frame near another, both counted from the end of the lead, before which
// a tone is at a crest of either sign: it is even about it then, and with its sign turned
// odd, of no area.
func (p *Plan) crest(t PlannedTone, near int) int {
	halves := (t.PhaseRad/math.Pi + 2*t.FreqHz*(float64(near)-0.5)/p.Config.RateHz)
	back := (halves - math.Round(halves)) / (2 * t.FreqHz) // seconds
	return near - int(math.Round(back*p.Config.RateHz))
}

// MainsOrder returns which multiple of the mains a tone at hz lies so near to that a
// record of this length cannot separate the two, the mains frequency being known no
// better than to 0.1 Hz; order 0 where there is none. mainsHz is 0 where it may be 50
// or 60 Hz. It is the rule by which Analyze sets LineU, for plans.
func MainsOrder(hz, mainsHz, seconds float64) (baseHz float64, order int) {
	candidates := []float64{mainsHz}
	if mainsHz == 0 {
		candidates = []float64{50, 60}
	}
	for _, m := range candidates {
		k := math.Round(hz / m)
		if k >= 1 && k <= joint.HiddenOrders && math.Abs(hz-k*m) < joint.ApartBins/seconds+0.1*k {
			return m, int(k)
		}
	}
	return 0, 0
}
