package live

import (
	"context"
	"errors"
	"fmt"
	"math"

	"example.org/wheatear/audio"
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/record"
	"example.org/wheatear/lockin/stimulus"
)

// Repeats is how often a spoilt record is made once more.
const Repeats = 3

// Subject is what is connected.
type Subject struct {
	Role fixture.Role
	Load *fixture.Load // of a load
	Name string        // of a part, for names of files; may be empty
}

// String says it in words, such as "the open".
func (w Subject) String() string {
	switch {
	case w.Load != nil:
		return "the load " + w.Load.String()
	case w.Role == fixture.PartRole && w.Name != "":
		return w.Name
	}
	return "the " + string(w.Role)
}

// Take is a record of a subject, analysed and judged.
type Take struct {
	Subject     Subject
	Observation fixture.Observation
	Record      *audio.Record
	Driver      *finding.Finding  // what the driver reported of lost samples; nil for nothing
	Spoilt      []finding.Finding // why it cannot be used; empty for a sound record
	Tries       int               // records made for it
}

// Take records what is connected. A record that is spoilt by what may pass, such
// as a dropout, is made once more, up to [Repeats] times; the last is returned
// whatever it is.
//
// With an error there may be a take: of a record that was cut short, by the
// context or because the device went, and that holds enough to be judged.
func (s *Session) Take(ctx context.Context, what Subject, plan *stimulus.Plan) (*Take, error) {
	for try := 1; ; try++ {
		t, err := s.once(ctx, what, plan)
		if t != nil {
			t.Tries = try
		}
		if err != nil || !t.passing() || try > Repeats {
			return t, err
		}
		s.opts.Tell(fmt.Sprintf("Recording %s once more (%d of %d): %s.", what, try, Repeats, t.trouble()))
	}
}

// once makes one record, keeps it and analyses it.
func (s *Session) once(ctx context.Context, what Subject, plan *stimulus.Plan) (*Take, error) {
	if err := ctx.Err(); err != nil {
		return nil, context.Cause(ctx)
	}
	stimulus := make([]float64, plan.Frames())
	plan.Stimulus().Read(stimulus)
	cfg := audio.Config{
		RateHz: plan.Config.RateHz, Inputs: s.jig.Inputs[:],
		Frames: len(stimulus) + int(math.Ceil(s.tailS*plan.Config.RateHz)),
	}
	rec, cause := s.run(ctx, cfg, stimulus)
	if rec == nil {
		return nil, cause
	}
	s.seconds += float64(rec.Frames()) / rec.RateHz
	t := &Take{Subject: what, Record: rec}
	t.Observation = fixture.Observation{Role: what.Role, Load: what.Load, File: s.name(what), Played: played(plan)}
	if err := s.keep(t, cfg, plan, cause); err != nil {
		return nil, errors.Join(cause, err)
	}
	if len(plan.Tones) == 0 { // of silence there is nothing to judge
		return t, cause
	}
	analysis, err := record.Analyze(signalOf(rec), record.Config{TonesHz: Frequencies(plan), MainsHz: s.jig.MainsHz})
	if err != nil {
		if cause != nil {
			return nil, cause // too short to be judged
		}
		return nil, err
	}
	t.Observation.Analysis = analysis
	t.judge()
	s.learnDelay(t, plan)
	return t, errors.Join(cause, s.note(t))
}

func signalOf(r *audio.Record) record.Signal {
	return record.Signal{RateHz: r.RateHz, Channels: r.Channels, Bits: r.Bits}
}

// name is what a record is called: the file it is kept in, or else the subject.
func (s *Session) name(what Subject) string {
	if s.opts.Folder != nil {
		return s.opts.Folder.next(what)
	}
	s.taken[what.String()]++
	if n := s.taken[what.String()]; n > 1 {
		return fmt.Sprintf("%s, record %d", what, n)
	}
	return what.String()
}

// learnDelay makes the next record as long as this one shows to be needed. The
// delay is what was heard, never what a driver says.
func (s *Session) learnDelay(t *Take, plan *stimulus.Plan) {
	const margin = 0.1 // seconds
	late := t.Observation.Analysis.First - plan.LeadFrames
	if len(t.Spoilt) == 0 && late > 0 {
		s.tailS = float64(late)/plan.Config.RateHz + margin
	}
}

// played lists the tones of a plan as the card was given them.
func played(plan *stimulus.Plan) []fixture.Played {
	out := make([]fixture.Played, len(plan.Tones))
	for i, t := range plan.Tones {
		out[i] = fixture.Played{FreqHz: t.FreqHz, Amplitude: t.Amplitude}
	}
	return out
}
