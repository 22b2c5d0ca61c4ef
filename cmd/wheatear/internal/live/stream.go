package live

import (
	"context"
	"errors"
	"fmt"

	"example.org/wheatear/audio"
	"example.org/wheatear/audio/kept"
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/record"
	"example.org/wheatear/lockin/stimulus"
)

// Stream plays steady tones and hands on what the inputs hear as it comes, until
// heard returns false, the context ends, or the plan is over. Nothing is kept. The
// plan is one of [Session.Steady].
func (s *Session) Stream(ctx context.Context, plan *stimulus.Plan, heard audio.Watch) error {
	m, ok := s.card.(audio.Monitor)
	if !ok {
		return fmt.Errorf("live: %s cannot show a record while it lasts; measure single readings with it", s.Card())
	}
	stimulus := make([]float64, plan.Frames())
	plan.Stimulus().Read(stimulus)
	cfg := audio.Config{RateHz: plan.Config.RateHz, Inputs: s.jig.Inputs[:], Frames: len(stimulus)}
	_, err := m.RunMonitored(ctx, cfg, stimulus, heard)
	if errors.Is(err, audio.ErrStopped) {
		return nil
	}
	return err
}

// Steady plans tones for [Session.Stream] that last so many seconds.
func (s *Session) Steady(ctx context.Context, tones []stimulus.ToneRequest, seconds float64) (*stimulus.Plan, error) {
	if s.peak == 0 {
		if err := s.findPeak(ctx, tones); err != nil {
			return nil, err
		}
	}
	seconds, err := longEnough(seconds, tones)
	if err != nil {
		return nil, err
	}
	return stimulus.PlanTones(stimulus.Config{
		RateHz: s.jig.Card.RateHz, FadeS: fadeSeconds, Seconds: 2*fadeSeconds + seconds, Peak: s.peak, MainsHz: s.jig.MainsHz,
		NoTurn: true, // any stretch of it may be looked at
	}, tones)
}

// LeastSeconds is how much of a tone must be heard to be judged.
func LeastSeconds(freqHz float64) float64 { return leastCycles / freqHz }

// Observe analyses a stretch of what a stream has given. It is an observation like
// one from a record.
func (s *Session) Observe(what Subject, plan *stimulus.Plan, sig record.Signal) (fixture.Observation, error) {
	o := fixture.Observation{Role: what.Role, Load: what.Load, File: what.String(), Played: played(plan)}
	var err error
	o.Analysis, err = record.Analyze(sig, record.Config{TonesHz: Frequencies(plan), MainsHz: s.jig.MainsHz})
	return o, err
}

// DoubtsOf are the findings that forbid to take what was observed for the standard
// that it claims to be.
func (s *Session) DoubtsOf(o fixture.Observation, freqsHz []float64) ([]finding.Finding, error) {
	t := &Take{Observation: o}
	for _, f := range o.Analysis.Findings {
		if f.Severity == finding.Invalid {
			t.Spoilt = append(t.Spoilt, f)
		}
	}
	return s.Doubts(t, freqsHz)
}

// Again reads a record that a [Folder] has kept and analyses it as when it was made.
// base is its file without the ending.
func (s *Session) Again(base string, what Subject, plan *stimulus.Plan) (*Take, error) {
	run, err := kept.Read(base)
	if err != nil {
		return nil, err
	}
	if run.Record == nil {
		return nil, fmt.Errorf("live: %s.json is of a run that failed; there is nothing to read again", base)
	}
	t := &Take{Subject: what, Record: run.Record, Tries: 1}
	t.Observation, err = s.Observe(what, plan, signalOf(run.Record))
	if err != nil {
		return nil, err
	}
	t.Observation.File = base + ".wav"
	t.judge()
	return t, nil
}
