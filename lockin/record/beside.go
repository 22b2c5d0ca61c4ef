package record

import (
	"cmp"
	"math"
	"slices"

	"example.org/wheatear/lockin/internal/joint"
)

// What stands beside the tones asked for is fitted too, where it is within 60 dB of
// the strongest and well above the noise: left in, it would be taken for noise or hum.
const (
	besideShare = 1e-6
	besideOver  = 200
	mostBeside  = 16 // more are the skirts of something that does not fit
)

// addBeside finds tones in a residual that are neither hum nor overtones.
func (an *analyzer) addBeside(f *joint.Fit) bool {
	if an.tones[0].origin == found {
		return false
	}
	spec := newBins(f.Residual, an.sig.RateHz, an.transforms).tapered()
	if an.turning() {
		return an.addBesideTurned(spec, f)
	}
	return an.addPeaks(spec, nil)
}

// addBesideLines adds what was found beside the tones to the model as it was fitted: hum
// has side lobes from the skip, and is taken out before.
func (an *analyzer) addBesideLines() {
	m := &an.model
	copy(m.Eps, an.joint.Model.Eps)
	m.MainsHz = an.joint.Model.MainsHz
	for i, t := range an.tones {
		if t.origin == beside {
			m.Lines = append(m.Lines, an.toneLine(m, i, t))
		}
	}
}

// addBesideTurned looks in the residual as it is, for what was not turned, and with the
// sign of its second half turned back: a tone stands higher in the one that it belongs to.
func (an *analyzer) addBesideTurned(plain bins, f *joint.Fit) bool {
	middle := float64(f.Frames-1) / 2
	back := newBins(Signal{Channels: f.Residual}.negated(middle).Channels, an.sig.RateHz, an.transforms).tapered()
	some := an.addPeaks(back, func(p *located) bool {
		_, other, ok := plain.peakNear(p.foundHz-3*plain.stepHz, p.foundHz+3*plain.stepHz)
		return !ok || other < p.power
	})
	more := an.addPeaks(plain, func(p *located) bool {
		p.plain = true
		_, other, ok := back.peakNear(p.foundHz-3*plain.stepHz, p.foundHz+3*plain.stepHz)
		return !ok || other < p.power
	})
	return some || more
}

// addPeaks adds the peaks of a spectrum that pass, nil for all.
func (an *analyzer) addPeaks(spec bins, pass func(*located) bool) bool {
	floor := spec.floor(0, an.sig.RateHz/2)
	strongest := an.strongestPower()
	peaks := spec.peaks(math.Max(besideOver*floor, besideShare*strongest))
	var more []located
	for _, p := range an.withoutMains(peaks, spec.stepHz) {
		weakOvertone := p.power < 0.01*strongest && an.overtone(p.foundHz, 2*spec.stepHz)
		if p.foundHz < highestTone*an.sig.RateHz && !weakOvertone &&
			!near(p.foundHz, an.foundHz(), 4*spec.stepHz) && !near(p.foundHz, an.modelledHz(), spec.stepHz) {
			if pass != nil && !pass(&p) {
				continue
			}
			p.origin = beside
			more = append(more, p)
		}
	}
	if len(more) > mostBeside {
		slices.SortFunc(more, func(a, b located) int { return cmp.Compare(b.power, a.power) })
		more = more[:mostBeside]
		slices.SortFunc(more, func(a, b located) int { return cmp.Compare(a.foundHz, b.foundHz) })
	}
	more = more[:min(len(more), max(0, mostTones-len(an.tones)))]
	an.tones = append(an.tones, more...)
	return len(more) > 0
}

func (an *analyzer) strongestPower() float64 {
	p := 0.0
	for _, t := range an.tones {
		p = math.Max(p, t.power)
	}
	return p
}
