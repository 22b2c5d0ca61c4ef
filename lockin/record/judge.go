package record

import (
	"math/cmplx"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/internal/trouble"
)

// judgeMono compares two channels.
func (an *analyzer) judgeMono() {
	used := an.used().Channels
	if len(used) != 2 {
		return
	}
	if m := trouble.FindMono(used[0], used[1], an.joint.Residual[0], an.joint.Residual[1]); m.Mono {
		an.find(m.Finding())
	}
}

// judgeStream looks for what the card or the system did to the whole record: levels
// that still move, gain that follows the signal, a converted rate.
func (an *analyzer) judgeStream() {
	an.judgeMovement()
	an.judgeRate()
}

// judgeRate looks for a conversion of the rate. Cut peaks have lines and bursts of
// their own all over the band.
func (an *analyzer) judgeRate() {
	if an.has(finding.Clipped) {
		return
	}
	f, ok := an.images().finding()
	if !ok {
		f, ok = trouble.FindResampling(an.used().Channels, an.joint.Residual, an.sig.RateHz, an.modelledHz()).Finding()
	}
	if !ok {
		f, ok = an.steering().Finding()
	}
	if ok {
		an.find(f)
	}
}

// steering follows the clock by the strongest tone, where nothing is missing and no more
// than a few tones stand in each other's way.
func (an *analyzer) steering() (s trouble.Steering) {
	t := an.strongestFit()
	if t == nil || len(an.foundHz()) > mostTonesWithHarmonics || an.has(finding.Dropout) || an.humOn(t) {
		return s
	}
	for ch, p := range t.Phasors {
		if len(an.foundHz()) > 1 && an.out.NoiseRMS[ch] > 0.1*cmplx.Abs(p) {
			return s
		}
	}
	if an.turn != nil { // couplings that ring on after a turn move the phase of a slow tone as much
		return s
	}
	s = trouble.FindSteering(an.joint.Residual, t.Phasors, an.sig.RateHz, t.FreqHz)
	s.Steps, s.InRatio = an.clockSteps, an.has(finding.Unsettled) || an.has(finding.AutoGain)
	return s
}

// humOn says that a mains line stands on the tone, which then moves the level.
func (an *analyzer) humOn(t *ToneFit) bool {
	for _, f := range an.out.Findings {
		if f.Code == finding.Interference && f.Touches(t.NominalHz) {
			return true
		}
	}
	return false
}
