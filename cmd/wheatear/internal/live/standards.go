package live

import (
	"context"
	"errors"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/stimulus"
)

// Answer is what a person says when asked to connect something.
type Answer uint8

// The answers.
const (
	Ready Answer = iota // it is connected
	Skip                // go on without it
	Stop                // end here
)

// ErrUnanswered is returned by a [Hand] that cannot answer any more.
var ErrUnanswered = errors.New("live: nobody answers")

// Hand connects what is asked for: a person, or the simulated jig. again holds the
// reasons why the same was refused just before, nil at the first time.
type Hand interface {
	Connect(ctx context.Context, what Subject, again []finding.Finding) (Answer, error)
}

// Standards are the records of the standards of a calibration.
type Standards struct {
	Observations []fixture.Observation
	Driver       []finding.Finding // what the driver reported meanwhile
	Refused      []finding.Finding // why the last standard was refused, where that ended it
	Skipped      []Subject
	Stopped      bool // before all were done
}

// Standards has each subject connected and records it. One that cannot be what it
// claims is refused and asked for again. What has been recorded is returned with
// any error, too.
func (s *Session) Standards(ctx context.Context, hand Hand, subjects []Subject, plan *stimulus.Plan) (*Standards, error) {
	out := &Standards{}
	for _, what := range subjects {
		if err := s.standard(ctx, hand, what, plan, out); err != nil || out.Stopped {
			out.Stopped = true
			return out, err
		}
	}
	return out, nil
}

// standard records one, as often as it takes.
func (s *Session) standard(ctx context.Context, hand Hand, what Subject, plan *stimulus.Plan, out *Standards) error {
	out.Refused = nil
	for {
		answer, err := hand.Connect(ctx, what, out.Refused)
		if errors.Is(err, ErrUnanswered) && out.Refused != nil {
			out.Stopped = true // the refusal is what there is to tell
			return nil
		}
		if err != nil {
			return err
		}
		switch answer {
		case Skip:
			out.Skipped, out.Refused = append(out.Skipped, what), nil
			return nil
		case Stop:
			out.Stopped = true
			return nil
		}
		t, err := s.Take(ctx, what, plan)
		if err != nil {
			return err
		}
		if out.Refused, err = s.Doubts(t, Frequencies(plan)); err != nil {
			return err
		}
		if len(out.Refused) == 0 {
			out.Refused = nil
			out.add(t)
			return nil
		}
		if err := s.Reject(t, string(out.Refused[0].Code)+", "+out.Refused[0].Detail); err != nil {
			return err
		}
		if advice := s.LevelAdvice(t); advice != "" {
			s.opts.Tell(advice)
		}
	}
}

func (s *Standards) add(t *Take) {
	s.Observations = append(s.Observations, t.Observation)
	if t.Driver != nil {
		s.Driver = append(s.Driver, *t.Driver)
	}
}

// Hand returns the hand of the simulated jig, which puts everything in by name: the
// standards as open, short and load, other loads as "load 100" if the tray has
// them. What was refused it cannot better.
func (s *Session) Hand() Hand { return &simulatedHand{s} }

type simulatedHand struct{ s *Session }

func (h *simulatedHand) Connect(ctx context.Context, what Subject, again []finding.Finding) (Answer, error) {
	if again != nil {
		return Stop, ErrUnanswered
	}
	if what.Load == nil {
		name := string(what.Role)
		if what.Role == fixture.PartRole {
			name = what.Name
		}
		return Ready, h.s.Put(name)
	}
	if h.s.Put("load "+parts.FormatValue(what.Load.Ohm, parts.None)) == nil {
		return Ready, nil
	}
	return Ready, h.s.Put("load")
}
