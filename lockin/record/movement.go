package record

import (
	"math"
	"math/cmplx"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/internal/joint"
	"example.org/wheatear/lockin/internal/trouble"
)

// judgeMovement looks for levels, and for a ratio of the channels, that move. It looks at
// the whole stretch in which the tone sounds, also where part of it was left out of the
// fit: gain that has settled by the second half is no less wrong for that.
func (an *analyzer) judgeMovement() {
	top := an.strongestFit()
	if top == nil {
		return
	}
	whole := an.sounding
	if len(an.foundHz()) > 1 {
		whole = an.span // beyond it other tones are not quite what the fit makes of them
	}
	rest := an.freed(whole, func(joint.Line) bool { return false })
	s := trouble.FindSettling(an.joint.Residual, an.joint.Residual, top.Phasors, an.sig.RateHz, top.FreqHz, 0, an.joint.Frames)
	var worst trouble.Movement
	for i := range an.out.Tones {
		t := &an.out.Tones[i]
		if m, ok := an.movementOf(t, whole, rest); ok && !an.humOn(t) {
			m.Trend = t == top && s.Ratio()
			t.RatioHalf = m.Half()
			if m.Worse(worst) {
				worst = m
			}
		}
	}
	if f, ok := worst.Finding(s); ok && !an.humOn(top) {
		an.tellMovement(f)
	}
}

// tellMovement says it once: steps of level, and of phase, that were found on the way
// are the same thing.
func (an *analyzer) tellMovement(f finding.Finding) {
	if f.Code == finding.AutoGain {
		kept := an.out.Findings[:0]
		for _, g := range an.out.Findings {
			if g.Code != finding.Unsettled {
				kept = append(kept, g)
			}
		}
		an.out.Findings = kept
	}
	an.find(f)
}

// movementOf follows one tone over a whole stretch, rest being what the fit leaves of it.
func (an *analyzer) movementOf(t *ToneFit, whole span, rest [][]float64) (trouble.Movement, bool) {
	skip := func(from, end int) bool {
		from, end = from+whole.first, end+whole.first
		for _, g := range an.gaps {
			if g.Kind != trouble.GapStep && g.Frame < end && from < max(g.End, g.Frame+1) {
				return true
			}
		}
		return false
	}
	fitted := an.fittedAt(t, whole)
	m, ok := trouble.FindMovement(rest, fitted, an.sig.RateHz, t.FreqHz, skip)
	if ok && m.LevelsMove() {
		m.Compare(an.alone(t, whole), fitted, an.sig.RateHz, t.FreqHz, skip)
		m.Onset, m.OnsetSeen = an.onset(t)
	}
	return m, ok
}

// alone is a stretch with no other line than a tone and its harmonics.
func (an *analyzer) alone(t *ToneFit, s span) [][]float64 {
	return an.freed(s, func(l joint.Line) bool { return !l.Mains && an.tones[l.Tone].nominalHz == t.NominalHz })
}

// fittedAt returns the phasors of a tone with the phase of the middle of a stretch.
func (an *analyzer) fittedAt(t *ToneFit, s span) []complex128 {
	away := float64(s.first+s.end-an.span.first-an.span.end) / 2
	turns := t.FreqHz / an.sig.RateHz * away
	e := cmplx.Rect(1, 2*math.Pi*(turns-math.Round(turns)))
	out := make([]complex128, len(t.Phasors))
	for ch, p := range t.Phasors {
		out[ch] = p * e
	}
	return out
}

// onset looks at how the tone comes up: what was recorded before it stood.
func (an *analyzer) onset(t *ToneFit) (away float64, ok bool) {
	const before = 0.2 // seconds
	s := span{first: max(0, an.sounding.first-int(before*an.sig.RateHz)), end: an.sounding.first}
	return trouble.Onset(an.alone(t, s), an.fittedAt(t, s), an.sig.RateHz, t.FreqHz)
}
