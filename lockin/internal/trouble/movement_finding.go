package trouble

import (
	"fmt"
	"math"

	"example.org/wheatear/lockin/finding"
)

// Finding says what moves. A movement that the uncertainty covers is a warning; gain that
// follows the signal is covered only if the ratio was the same while the tone came up.
func (m Movement) Finding(s settleFigures) (f finding.Finding, ok bool) {
	levels := m.Levels()
	f = finding.Finding{Code: finding.Unsettled, Severity: finding.Warning,
		Advice: "let part and jig settle: temperature, charging of coupling capacitors, loose clips; record longer"}
	switch {
	case levels > rangeTold:
		f.Detail = fmt.Sprintf("the levels move by %s (input 1) and %s (input 2) while the tone stands, their ratio by %s",
			percent(m.LevelRange[0]), percent(m.LevelRange[1]), percent(m.relative()))
		if !s.sourceMoves() {
			f.Code, f.Advice = finding.AutoGain, "switch off automatic gain and other sound effects of the input"
		}
		if !m.OnsetSeen || m.Onset > onsetTrusted {
			f.Severity = finding.Invalid
			if m.OnsetSeen {
				f.Detail += fmt.Sprintf("; while the tone comes up the ratio differs by %s", percent(m.Onset))
			}
		}
	case m.told():
		f.Detail = fmt.Sprintf("the inputs move against each other: their ratio by up to %s", percent(m.relative()))
	case s.Kind == settleSource:
		f.Detail = fmt.Sprintf("the level still moves, alike in both channels, by %s; the ratio stands", s.levels())
		f.Advice = "let the tone run before recording, or record longer"
	default:
		return f, false
	}
	return f, true
}

// sourceMoves says that the noise stays while the level moves: no gain does that.
func (s settleFigures) sourceMoves() bool {
	return s.NoiseFollowsU < 0.2 && math.Abs(s.NoiseFollows) < 0.5
}

// Ratio says that the channels move against each other.
func (s settleFigures) Ratio() bool { return s.Kind == settleRatio }

// percent writes a share with two digits.
func percent(share float64) string {
	if share < 1e-4 {
		return fmt.Sprintf("%.2g ppm", share*1e6)
	}
	return fmt.Sprintf("%.2g %%", share*100)
}
