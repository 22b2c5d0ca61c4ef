package record

import (
	"math"

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

// unsettledTolerated is how far, relative, a level may still move a ratio before the
// reading is void whatever its noise: the gains of ordinary cards wander by this.
const unsettledTolerated = 1e-4

// judgeStream looks for what the card or the system did to the whole record: levels
// that still move, gain that follows the signal, a converted rate.
func (an *analyzer) judgeStream() {
	residual := an.joint.Residual
	if t := an.strongestFit(); t != nil && !an.humOn(t) {
		s := trouble.FindSettling(residual, residual, t.Phasors, an.sig.RateHz, t.FreqHz, 0, an.joint.Frames)
		if f, ok := s.Finding(t.NominalHz, math.Hypot(t.ratioU(), unsettledTolerated)); ok {
			f.FreqHz = 0 // what moves one tone moves all
			if f.Severity == finding.Invalid && t.weakest() < weakChannel*t.strongest() {
				f.Severity = finding.Warning // little of what matters may move by much
			}
			an.find(f)
		}
	}
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
	if ok {
		an.find(f)
	}
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
