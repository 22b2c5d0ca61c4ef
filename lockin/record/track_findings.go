package record

import (
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/internal/num"
	"example.org/wheatear/lockin/internal/trouble"
	"fmt"
	"math"
)

// A step between two segments is a break where it stands this far out of the scatter
// of all steps: the largest of a hundred thousand reaches 4.5 by chance.
const (
	trackStepOver = 7
	trackStepRad  = 1e-4 // and is no smaller than this
	trackSure     = 4    // standard uncertainties from which a tone counts as there
)

// Detected says in which channels the tone rises above its noise.
func (t *TrackedTone) Detected() []bool {
	out := make([]bool, len(t.Phasors))
	for ch, p := range t.Phasors {
		out[ch] = num.SqAbs(p) > trackSure*trackSure*(t.Cov.At(2*ch, 2*ch)+t.Cov.At(2*ch+1, 2*ch+1))
	}
	return out
}

// Findings says what a person must know of the record. A track sees less than Analyze:
// missing samples, tones that are absent or elsewhere, offset, samples that are not
// finite; not clipping, nor one signal in both channels.
func (t *Track) Findings() []finding.Finding {
	var out []finding.Finding
	if t.Skipped > 0 {
		out = append(out, finding.Finding{Code: finding.NotFinite, Severity: finding.Invalid,
			Detail: fmt.Sprintf("%d segments of %.2g s hold samples that are not finite (NaN or infinity)", t.Skipped, t.SegmentS),
			Advice: "look at what wrote the file: a recording holds no such values"})
	}
	for ch, o := range t.Offset {
		if math.Abs(o) > trouble.OffsetLimit {
			out = append(out, trouble.OffsetFinding(ch, o))
		}
	}
	places := make([]placedTone, len(t.Tones))
	for i := range t.Tones {
		tone := &t.Tones[i]
		places[i] = placedTone{tone.NominalHz, tone.FreqHz, tone.FreqUHz, anyTrue(tone.Detected())}
		if !places[i].there {
			out = append(out, noSignal(tone.NominalHz))
		} else if f, broken := t.breakFinding(tone); broken {
			out = append(out, f)
		}
	}
	return append(out, clockFindings(places)...)
}

// atTheEnds says that the phase jumps near the ends of the record: the tone may fade
// there, and a fading segment has no phase to speak of; and the first segments are
// read before the frequency is known well.
func (t *Track) atTheEnds(s TrackStep) bool {
	end := float64(t.Frames) / t.RateHz
	return s.AtS < 8*t.SegmentS || s.AtS > end-3*t.SegmentS
}

// breakFinding reports a step of phase that is no noise.
func (t *Track) breakFinding(tone *TrackedTone) (finding.Finding, bool) {
	s := tone.PhaseStep
	// The step itself is in the scatter.
	rest := math.Sqrt(math.Max(0, s.RMS*s.RMS-s.Size*s.Size/float64(max(t.Segments-1, 1))))
	if size := math.Abs(s.Size); size < trackStepRad || size < trackStepOver*rest || t.atTheEnds(s) {
		return finding.Finding{}, false
	}
	at := s.AtS
	return finding.Finding{Code: finding.Dropout, Severity: finding.Invalid, FreqHz: tone.NominalHz, AtS: &at,
		Detail: fmt.Sprintf("the phase jumps by %.3f° near %.2f s: samples are missing or repeated", s.Size*180/math.Pi, at),
		Advice: "close what loads the computer or the bus, ask for longer buffers, and record again"}, true
}
