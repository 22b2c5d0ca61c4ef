package jigcheck

import (
	"errors"
	"math"
	"math/cmplx"

	"example.org/wheatear/lockin/internal/errkind"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/record"
)

// ErrEvidence is wrapped where there is nothing to judge a jig by: recordings, or the file
// of an earlier verification.
var ErrEvidence = errors.New("jigcheck: nothing to judge the jig by")

// Recording is what was heard in one step.
type Recording struct {
	Step Step
	File string
	// Load is the known resistor of Load, Reference and Check, and the one that is in
	// during other steps where it is known.
	Load *fixture.Load
	// Other is the reference in use in the step Reference.
	Other *fixture.Load

	Signal   record.Signal    // needed of Idle; Long tells the latency by it
	Analysis *record.Analysis // needed of all but Idle
	Played   []fixture.Played // what went to the card; empty where unknown
	LeadS    float64          // silence and half a fade before the tones, as played; 0 where unknown
	AtS      float64          // when it began, for Drift
}

// Evidence is all there is to judge a jig by.
type Evidence struct {
	Jig        *fixture.Jig
	Stated     map[string]bool // keys that the jig file states (fixture.StatedKeys)
	Recordings []Recording
	Earlier    *Verified // an earlier verification; nil for none
	Peak       float64   // of what measurements play, re full scale; 0 where unknown
}

// check refuses what cannot be examined.
func (e *Evidence) check() error {
	if e.Jig == nil {
		return errkind.Errorf(ErrEvidence, "jigcheck: no jig to examine")
	}
	if len(e.Recordings) == 0 {
		return errkind.Errorf(ErrEvidence, "jigcheck: no recordings to examine the jig by")
	}
	for _, r := range e.Recordings {
		if err := r.check(); err != nil {
			return err
		}
	}
	return nil
}

func (r *Recording) check() error {
	if _, ok := ParseStep(string(r.Step)); !ok {
		return errkind.Errorf(ErrEvidence, "jigcheck: %s: there is no step %q", r.File, r.Step)
	}
	if r.Step == Idle {
		if len(r.Signal.Channels) < 2 || !(r.Signal.RateHz > 0) || r.Signal.Frames() < leastIdle || len(r.Signal.Channels[1]) != r.Signal.Frames() {
			return errkind.Errorf(ErrEvidence, "jigcheck: %s: silence needs two channels of at least %d samples", r.File, leastIdle)
		}
		return nil
	}
	if r.Analysis == nil || !(r.Analysis.RateHz > 0) {
		return errkind.Errorf(ErrEvidence, "jigcheck: %s: the recording has not been analysed", r.File)
	}
	for _, l := range []*fixture.Load{r.Load, r.Other} {
		if l != nil && !(l.Ohm > 0 && l.Tolerance >= 0 && !math.IsInf(l.Ohm, 0)) {
			return errkind.Errorf(ErrEvidence, "jigcheck: %s: a resistor of %g ohm", r.File, l.Ohm)
		}
	}
	if (r.Step == Load || r.Step == Check) && r.Load == nil {
		return errkind.Errorf(ErrEvidence, "jigcheck: %s: the step %s needs the value of its resistor", r.File, r.Step)
	}
	if r.Step == Reference && (r.Load == nil || r.Other == nil) {
		return errkind.Errorf(ErrEvidence, "jigcheck: %s: the step reference needs the values of the other reference and of the load", r.File)
	}
	return nil
}

// of lists the recordings of a step that can be used.
func (e *Evidence) of(step Step) []*Recording {
	var out []*Recording
	for i := range e.Recordings {
		if r := &e.Recordings[i]; r.Step == step && r.usable() {
			out = append(out, r)
		}
	}
	return out
}

// spoils lists what makes the phasors of a recording useless. What else is invalid,
// such as a terminated input without signal, is as it should be in some step.
var spoils = []finding.Code{finding.Clipped, finding.NotFinite}

func (r *Recording) usable() bool {
	if r.Analysis == nil || r.Step == Levels || r.Step == Long {
		return true
	}
	for _, f := range r.Analysis.Findings {
		for _, code := range spoils {
			if f.Code == code && f.Severity == finding.Invalid {
				return false
			}
		}
	}
	return len(r.Analysis.Tones) > 0
}

// heard is a tone in both inputs, with the standard uncertainty of each axis.
type heard struct {
	h [2]complex128
	u [2]float64
}

// at returns the tone of a recording nearest to a nominal frequency.
func (r *Recording) at(freqHz float64) (heard, bool) {
	if r.Analysis == nil {
		return heard{}, false
	}
	t := r.Analysis.Tone(freqHz)
	if t == nil || math.Abs(t.NominalHz-freqHz) > sameHz*freqHz || len(t.Phasors) < 2 || t.Cov == nil {
		return heard{}, false
	}
	var out heard
	for ch := range out.h {
		out.h[ch] = t.Phasors[ch]
		out.u[ch] = math.Sqrt(math.Max(0, (t.Cov.At(2*ch, 2*ch)+t.Cov.At(2*ch+1, 2*ch+1))/2))
		if ch < len(t.LineU) {
			out.u[ch] = math.Hypot(out.u[ch], t.LineU[ch])
		}
		if cmplx.IsNaN(out.h[ch]) || math.IsNaN(out.u[ch]) {
			return heard{}, false
		}
	}
	return out, true
}

// sameHz is how far, relative, nominal frequencies of one tone may lie apart.
const sameHz = 1e-6

// frequencies lists the tones of the recordings of a step, by rising frequency.
func (e *Evidence) frequencies(step Step) []float64 {
	for _, r := range e.of(step) {
		var out []float64
		for _, t := range r.Analysis.Tones {
			out = append(out, t.NominalHz)
		}
		if len(out) > 0 {
			return sorted(out)
		}
	}
	return nil
}
