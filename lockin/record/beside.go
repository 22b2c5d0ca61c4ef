package record

import (
	"math"

	"example.org/wheatear/lockin/internal/joint"
)

// What stands beside the tones asked for is fitted too, where it is within 60 dB of
// the strongest and well above the noise: left in, it would be taken for noise or hum.
const (
	besideShare = 1e-6
	besideOver  = 200
)

// addBeside finds tones in a residual that are neither hum nor overtones.
func (an *analyzer) addBeside(f *joint.Fit) bool {
	if an.tones[0].origin == found {
		return false
	}
	spec := newBins(f.Residual, an.sig.RateHz, an.transforms).tapered()
	floor := spec.floor(0, an.sig.RateHz/2)
	strongest := an.strongestPower()
	peaks := spec.peaks(math.Max(besideOver*floor, besideShare*strongest))
	before := len(an.tones)
	for _, p := range an.withoutMains(peaks, spec.stepHz) {
		if len(an.tones) == mostTones {
			break
		}
		weakOvertone := p.power < 0.01*strongest && an.overtone(p.foundHz, 2*spec.stepHz)
		if p.foundHz < highestTone*an.sig.RateHz && !weakOvertone &&
			!near(p.foundHz, an.foundHz(), 4*spec.stepHz) && !near(p.foundHz, an.modelledHz(), spec.stepHz) {
			p.origin = beside
			an.tones = append(an.tones, p)
		}
	}
	return len(an.tones) > before
}

func (an *analyzer) strongestPower() float64 {
	p := 0.0
	for _, t := range an.tones {
		p = math.Max(p, t.power)
	}
	return p
}
