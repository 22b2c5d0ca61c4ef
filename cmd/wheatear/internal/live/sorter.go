package live

import (
	"context"
	"fmt"

	"example.org/wheatear/lockin/batch"
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/stimulus"
)

// Feeder is who puts parts into the jig and takes them out, and what becomes of them.
type Feeder interface {
	Next() (more bool, err error) // has the next part put in; false ends the run
	Again() error                 // has the same part put in once more
	Out() (more bool, err error)  // has the part taken out; false ends the run
	Name() string                 // of the part that is in

	// See is shown every glimpse and what it says.
	See(Seen, batch.Event) Wish
	// Patience is how many glimpses to wait for what was asked for, after which the
	// feeder is believed to have done it: a broken part reads as none. 0 is for a person,
	// who is waited for as long as it takes, and who may be mistaken.
	Patience() int

	// Judge judges the part by all that was recorded of it so far.
	Judge([]fixture.Observation) (parts.Outcome, error)
	// Keep keeps the part as it was judged last.
	Keep(name string) error
	// Tell is given a sentence for the person: why nothing was judged, what to do.
	Tell(text string)
}

// Wish is what a feeder wants beside what is seen.
type Wish uint8

// The wishes.
const (
	GoOn     Wish = iota
	Exchange      // another part is in, for certain: begin anew with it
	CountNow      // judge what is in, whatever it reads as and whether it was counted or not
)

// Sorter waits until a part that is put in has settled, records it until it is judged,
// and waits until it is out, again and again. It sees what is in the jig by
// [Session.Glance] and follows it by [batch.Succession].
type Sorter struct {
	Session  *Session
	Plan     *stimulus.Plan
	Cal      *fixture.Calibration // nil for none
	NoneOhm  float64              // from here on there is no part
	Seconds  float64              // a part is recorded for this long at the most
	Occupied bool                 // a part may be in that has been dealt with
	Feeder   Feeder

	here batch.Succession
	now  bool // what is in is to be judged without waiting
}

// Run sorts until the feeder has no more parts or the context ends.
func (s *Sorter) Run(ctx context.Context) error {
	if s.Occupied {
		s.here.Presence = batch.Occupied()
	}
	for {
		more, err := s.Feeder.Next()
		if err != nil || !more {
			return err
		}
		if err := s.one(ctx); err != nil {
			return err
		}
		if more, err = s.Feeder.Out(); err != nil || !more {
			return err
		}
		if err := s.await(ctx, batch.Leaving); err != nil {
			return err
		}
	}
}

// insertions is how often a part is asked for that cannot be read.
const insertions = 3

// one reads a part that is put in, again if it moved or a record was spoilt.
func (s *Sorter) one(ctx context.Context) error {
	for try := 1; ; try++ {
		if err := s.await(ctx, batch.Settled); err != nil {
			return err
		}
		s.now = false
		name := s.Feeder.Name()
		why, err := s.decide(ctx, name)
		if err != nil {
			return err
		}
		if why == "" || try >= insertions*Repeats && s.Feeder.Patience() > 0 {
			s.here.Keep()
			return s.Feeder.Keep(name)
		}
		s.Feeder.Tell(fmt.Sprintf("Not judged, %s: %s.", name, why))
		s.here.Unsettle()
		if try%Repeats == 0 {
			if err := s.again(ctx); err != nil {
				return err
			}
		}
	}
}

// again has a part put in once more that cannot be read.
func (s *Sorter) again(ctx context.Context) error {
	if err := s.Feeder.Again(); err != nil || s.Feeder.Patience() > 0 {
		return err
	}
	s.here.Presence = batch.Occupied()
	return s.await(ctx, batch.Leaving)
}

// decide records the part that is in until the decision is safe or the time is over. Why
// says what forbids to judge it.
func (s *Sorter) decide(ctx context.Context, name string) (why string, err error) {
	stood := s.here.Last()
	var obs []fixture.Observation
	for began := s.Session.Seconds(); ; {
		before := s.Session.Seconds()
		t, err := s.Session.Take(ctx, Subject{Role: fixture.PartRole, Name: name}, s.Plan)
		if err != nil {
			return "", err
		}
		seen, err := s.Session.SeenIn([]fixture.Observation{t.Observation}, Frequencies(s.Plan)[0], s.Cal, s.NoneOhm)
		if err != nil {
			return "", err
		}
		obs = append(obs, t.Observation)
		outcome, err := s.Feeder.Judge(obs)
		if err != nil {
			return "", err
		}
		if why := unfit(t, seen, stood); why != "" {
			return why, nil
		}
		now := s.Session.Seconds()
		if outcome != parts.Undecided || now-began+now-before > s.Seconds {
			return "", nil
		}
	}
}

// unfit says why a record is nothing to judge by, "" where it is.
func unfit(t *Take, seen Seen, stood batch.Glimpse) string {
	switch {
	case t.Trouble() != "":
		return t.Trouble()
	case seen.Bad:
		for _, f := range seen.Reading.Findings {
			if f.Severity == finding.Invalid {
				return string(f.Code) + ", " + f.Detail
			}
		}
		return "it cannot be read"
	case !batch.Agree(seen.Glimpse, stood):
		return "it moved while it was read, or has a bad contact"
	}
	return ""
}

// await looks at the jig until something has come about, or the feeder wants otherwise.
func (s *Sorter) await(ctx context.Context, event batch.Event) error {
	w := &waiting{Sorter: s, event: event, patience: s.Feeder.Patience(), done: s.now}
	for !w.done {
		if err := s.Session.Glance(ctx, s.Plan, s.Cal, s.NoneOhm, w.see); err != nil {
			return err
		}
	}
	return nil
}

// waiting waits for an event.
type waiting struct {
	*Sorter
	event    batch.Event
	patience int
	done     bool
}

// see takes a glimpse, and says whether to look further.
func (w *waiting) see(seen Seen) bool {
	got := w.here.Step(seen.Glimpse)
	person := w.Feeder.Patience() == 0
	switch {
	case got == batch.Doubtful && person:
		w.Feeder.Tell("This reads as the part before it, which was away for a moment only, and is not counted again. If it is another part, take it out for a second.")
	case got == batch.Doubtful:
		got = batch.Settled
	case got == batch.Strange && person:
		w.Feeder.Tell("What is in the jig reads otherwise than the part that was counted. If it is another one, take it out for a second and put it in again.")
	}
	wish := w.Feeder.See(seen, got)
	w.patience--
	switch {
	case wish == Exchange:
		w.here.Exchange()
		w.done = w.event == batch.Leaving
		return false
	case wish == CountNow:
		w.now, w.done = true, true
	case got == w.event:
		w.done = true
	case w.patience == 0:
		w.done = true
		w.here.Presence = batch.Presence{}
		if w.event == batch.Settled {
			w.here.Presence = batch.Occupied()
		}
	}
	return !w.done
}
