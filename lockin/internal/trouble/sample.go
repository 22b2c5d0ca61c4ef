package trouble

import (
	"example.org/wheatear/lockin/finding"
	"fmt"
	"math"
)

// sampleFigures is what the samples of one channel show one by one.
type sampleFigures struct {
	Frames int
	// NotFinite counts NaN and infinities; FirstNotFinite is the first, −1 for none.
	// FiniteFirst and FiniteEnd are the longest stretch without.
	NotFinite, FirstNotFinite int
	FiniteFirst, FiniteEnd    int
	// Silent says that all samples are equal, for a fifth of a second or longer.
	Silent bool
	// Mean and Peak are re full scale, over the finite samples.
	Mean, Peak float64
	// HeadroomDB is how far the peak stays below full scale, in decibels of
	// amplitude; +Inf for silence.
	HeadroomDB float64
}

const (
	silentSeconds = 0.2  // a converter's noise moves within this time
	OffsetLimit   = 0.05 // of full scale
)

// ExamineSamples looks at the samples of one channel. rateHz is positive. Nothing
// here is statistical: noise of a converter is never exactly constant for a fifth
// of a second, and never not finite.
func ExamineSamples(x []float64, rateHz float64) sampleFigures {
	s := sampleFigures{Frames: len(x), FirstNotFinite: -1, HeadroomDB: math.Inf(1)}
	sum, start := 0.0, 0
	for i, v := range x {
		if v-v != 0 { // NaN and infinities
			if s.NotFinite == 0 {
				s.FirstNotFinite = i
			}
			s.NotFinite++
			s.longer(start, i)
			start = i + 1
			continue
		}
		sum += v
		if a := math.Abs(v); a > s.Peak {
			s.Peak = a
		}
	}
	s.longer(start, len(x))
	if finite := len(x) - s.NotFinite; finite > 0 {
		s.Mean = sum / float64(finite)
		s.Silent = float64(finite) >= silentSeconds*rateHz && s.NotFinite == 0 && constant(x)
	}
	if s.Peak > 0 {
		s.HeadroomDB = -20 * math.Log10(s.Peak)
	}
	return s
}

func (s *sampleFigures) longer(first, end int) {
	if end-first > s.FiniteEnd-s.FiniteFirst {
		s.FiniteFirst, s.FiniteEnd = first, end
	}
}

// Findings words what the samples of a channel (counted from 0) show. sound says
// that the stretch without samples that are not finite was enough. Silence is
// found whatever the channel should carry: the caller drops it where it may be
// silent.
func (s sampleFigures) Findings(ch int, rateHz float64, sound bool) []finding.Finding {
	var out []finding.Finding
	if s.NotFinite > 0 {
		at := float64(s.FirstNotFinite) / rateHz
		f := finding.Finding{Code: finding.NotFinite, Severity: finding.Invalid, Channel: ch + 1, AtS: &at,
			Detail: fmt.Sprintf("%d of %d samples are not finite (NaN or infinity), the first at %.4f s", s.NotFinite, s.Frames, at),
			Advice: "look at what wrote the file: a recording holds no such values"}
		if sound {
			f.Severity = finding.Warning
		}
		out = append(out, f)
	}
	if s.Silent {
		out = append(out, finding.Finding{Code: finding.NoSignal, Severity: finding.Invalid, Channel: ch + 1,
			Detail: fmt.Sprintf("digital silence: all %d samples are exactly %g", s.Frames, s.Mean),
			Advice: "check that the input is not muted and is the right one of the device's; on macOS a terminal needs permission to use the microphone"})
	}
	if !s.Silent && math.Abs(s.Mean) > OffsetLimit {
		out = append(out, OffsetFinding(ch, s.Mean))
	}
	return out
}

func OffsetFinding(ch int, mean float64) finding.Finding {
	return finding.Finding{Code: finding.Offset, Severity: finding.Warning, Channel: ch + 1,
		Detail: fmt.Sprintf("offset %.3f on channel %d, re full scale", mean, ch+1),
		Advice: "a microphone input feeds a voltage to what is connected, and a bias changes electrolytic and ceramic capacitors; use a line input or a series capacitor"}
}
