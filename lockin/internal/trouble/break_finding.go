package trouble

import (
	"example.org/wheatear/lockin/finding"
	"fmt"
	"math"
)

// Finding words a break. sound says that enough record on one side of it was used,
// so that the readings stand.
func (g Gap) Finding(rateHz float64, sound bool) finding.Finding {
	at := float64(g.Frame) / rateHz
	f := finding.Finding{Code: finding.Dropout, Severity: finding.Invalid, AtS: &at, Detail: g.detail(rateHz), Advice: g.advice()}
	if g.Kind == GapStep {
		f.Code = finding.Unsettled
	}
	if sound {
		f.Severity = finding.Warning
	}
	return f
}

// fewGaps of one kind are told one by one.
const fewGaps = 2

// GapFindings words all breaks of a record, those of one kind once where there are many.
func GapFindings(gaps []Gap, rateHz float64, sound bool) []finding.Finding {
	count := make(map[gapKind]int)
	for _, g := range gaps {
		count[g.Kind]++
	}
	var out []finding.Finding
	told := make(map[gapKind]bool)
	for _, g := range gaps {
		if told[g.Kind] {
			continue
		}
		f := g.Finding(rateHz, sound)
		if n := count[g.Kind]; n > fewGaps {
			told[g.Kind] = true
			f.Detail = fmt.Sprintf("%d times, first: %s", n, f.Detail)
		}
		out = append(out, f)
	}
	return out
}

func (g Gap) detail(rateHz float64) string {
	at := float64(g.Frame) / rateHz
	switch g.Kind {
	case gapZero:
		return fmt.Sprintf("%.0f samples are zero in the midst of the tone, from %.4f s", g.Frames, at)
	case gapHeld:
		return fmt.Sprintf("one value stands for %.0f samples in the midst of the tone, from %.4f s", g.Frames, at)
	case gapRepeated:
		return fmt.Sprintf("a block of %.0f samples stands twice at %.4f s", g.Frames, at)
	case gapSilent:
		return fmt.Sprintf("the tone is away for %.1f ms from %.4f s", 1000*g.Frames/rateHz, at)
	case GapStep:
		return fmt.Sprintf("the input changed at %.4f s: level times %.4g, phase by %.3f°", at, g.LevelRatio, g.PhaseRad*180/math.Pi)
	}
	if g.Modulo > 0 {
		return fmt.Sprintf("samples are missing at %.4f s: the phase jumps by %.2f°, %.1f samples or that and whole periods of %.2f", at, g.PhaseRad*180/math.Pi, g.Frames, g.Modulo)
	}
	return fmt.Sprintf("%.0f samples are missing at %.4f s", g.Frames, at)
}

func (g Gap) advice() string {
	if g.Kind == GapStep {
		return "check clips, plugs and volume controls, name the device instead of using the default, and record again"
	}
	return "close what loads the computer or the bus, ask for longer buffers, and record again"
}
