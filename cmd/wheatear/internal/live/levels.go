package live

import (
	"context"
	"fmt"
	"math"
	"math/cmplx"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/spectrum"
	"example.org/wheatear/lockin/stimulus"
	"example.org/wheatear/lockin/uncertain"
)

// Levels is what the inputs hear of a quiet tone with nothing connected, and what
// that means for the level at which one measures.
type Levels struct {
	Take     *Take
	Inputs   [2]InputLevel
	LevelDB  float64 // dBFS to be played: as wanted, or less where an input would clip
	Advice   string  // for a person; empty where all is well
	Findings []finding.Finding

	plan *stimulus.Plan
}

// InputResistance plays the same into a known load and returns what the input across the
// part loads it with.
func (s *Session) InputResistance(ctx context.Context, l *Levels, load fixture.Load) (uncertain.Quantity, error) {
	t, err := s.Take(ctx, Subject{Role: fixture.LoadRole, Load: &load}, l.plan)
	if err != nil {
		return uncertain.Absent(), err
	}
	return s.jig.InputResistance(l.Take.Observation, t.Observation, l.plan.Tones[0].FreqHz)
}

// InputLevel is what one input hears, in dB re full scale; -Inf for nothing.
type InputLevel struct {
	QuietDB    float64 // of the quiet tone
	ExpectedDB float64 // of the tone at the level wanted
	NoiseDB    float64 // rms, of what is neither tone nor hum
}

// Levels plays quietly into open terminals and listens.
func (s *Session) Levels(ctx context.Context) (*Levels, error) {
	plan, err := s.Quiet([]stimulus.ToneRequest{{FreqHz: 1000, Movable: true}})
	if err != nil {
		return nil, err
	}
	t, err := s.Take(ctx, Subject{Role: fixture.Open}, plan)
	if err != nil {
		return nil, err
	}
	l := &Levels{Take: t, plan: plan}
	if l.Findings, err = s.Doubts(t, Frequencies(plan)); err != nil {
		return nil, err
	}
	wanted := s.opts.Level.Value
	if s.opts.Level.Volts {
		wanted = -12 // where volts lie is not known before full_scale is
	}
	l.fill(plan, wanted)
	return l, nil
}

// fill works out what the wanted level would give.
func (l *Levels) fill(plan *stimulus.Plan, wantedDB float64) {
	a := l.Take.Observation.Analysis
	tone := a.Tone(plan.Tones[0].FreqHz)
	loudest := math.Inf(-1)
	for i := range l.Inputs {
		in := InputLevel{QuietDB: math.Inf(-1), NoiseDB: math.Inf(-1)}
		if tone != nil && i < len(tone.Phasors) && tone.Detected[i] {
			in.QuietDB = spectrum.AmplitudeDB(cmplx.Abs(tone.Phasors[i]))
		}
		if i < len(a.NoiseRMS) {
			in.NoiseDB = spectrum.AmplitudeDB(a.NoiseRMS[i])
		}
		in.ExpectedDB = in.QuietDB + wantedDB - spectrum.AmplitudeDB(plan.Config.Peak)
		loudest = math.Max(loudest, in.ExpectedDB)
		l.Inputs[i] = in
	}
	l.suggest(wantedDB, loudest)
}

// suggest says what to turn. Headroom is kept for the peaks of several tones and
// for hum; far below, the converter's noise counts for more than it need.
func (l *Levels) suggest(wantedDB, loudestDB float64) {
	const tooLoud, good, tooQuiet = -3, -8, -24
	l.LevelDB = wantedDB
	switch {
	case math.IsInf(loudestDB, -1):
		l.Advice = "Neither input hears the tone. Check the cables, the volume of the output, and which inputs are recorded."
	case loudestDB > tooLoud:
		l.LevelDB = math.Floor(wantedDB - (loudestDB - good))
		l.Advice = fmt.Sprintf("At %.0f dBFS an input would be overdriven: turn the input gain down by %.0f dB and set up anew, or leave it: the level is set to %.0f dBFS.",
			wantedDB, math.Ceil(loudestDB-good), l.LevelDB)
	case loudestDB < tooQuiet:
		l.Advice = fmt.Sprintf("There is room: the input gains may be turned up by %.0f dB, both alike.", math.Floor(good-loudestDB))
	}
}
