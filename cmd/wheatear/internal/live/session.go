package live

import (
	"context"
	"fmt"

	"example.org/wheatear/audio"
	"example.org/wheatear/audio/virtual"
	"example.org/wheatear/lockin/fixture"
)

// Options are what a session may be told. Jig is needed.
type Options struct {
	Jig     *fixture.Jig
	Dir     string          // where a relative name of the tray begins: the jig file's directory
	Level   *fixture.Level  // instead of the jig file's
	Seed    uint64          // of what the simulated card draws in this session
	Reading fixture.Options // how readings are made; the card's name is filled in
	Folder  *Folder         // where everything recorded is kept; nil for nowhere

	// Spoil changes the simulated card before it is opened; nil for not at all.
	Spoil func(*virtual.Config)

	// Tell is given sentences for a person: why a record is repeated, what to change.
	Tell func(text string)
	// Progress is called while a record grows, with the seconds recorded so far and
	// in all.
	Progress func(seconds, of float64)
}

// Session is a card with a jig. It is not safe for concurrent use.
type Session struct {
	card  audio.Card
	jig   *fixture.Jig
	opts  Options
	close func() error
	parts []string // in the tray of the simulated card

	tailS   float64 // recorded after the stimulus, for the delay of the card
	peak    float64 // of the stimulus, re full scale; 0 while unknown
	seconds float64 // recorded so far
	taken   map[string]int
}

// New makes a session on a card that is open already; closing stays with the
// caller.
func New(card audio.Card, o Options) *Session {
	s := &Session{card: card, jig: o.Jig, opts: o, tailS: audio.DefaultTailSeconds, taken: map[string]int{}}
	if s.opts.Tell == nil {
		s.opts.Tell = func(string) {}
	}
	if s.opts.Progress == nil {
		s.opts.Progress = func(float64, float64) {}
	}
	if s.opts.Level == nil {
		s.opts.Level = &o.Jig.Card.Level
	}
	return s
}

// Close gives the card back.
func (s *Session) Close() error {
	if s.close == nil {
		return nil
	}
	return s.close()
}

// Card is what calibrations call the card.
func (s *Session) Card() string { return nameOf(s.card) }

// Device describes the card; its name is empty where the card does not tell.
func (s *Session) Device() audio.Device { return describe(s.card) }

// Seconds is how much has been recorded so far.
func (s *Session) Seconds() float64 { return s.seconds }

// SetReading changes how readings are made.
func (s *Session) SetReading(o fixture.Options) { s.opts.Reading = o }

// Reading returns the options for readings of what the session records.
func (s *Session) Reading() fixture.Options {
	o := s.opts.Reading
	o.Card = s.Card()
	return o
}

// inserter is a card that changes by itself what is connected.
type inserter interface{ Insert(name string) error }

// Simulated reports whether parts are put in by name, so that nobody needs to be
// asked and no sound is made.
func (s *Session) Simulated() bool {
	_, ok := s.card.(inserter)
	return ok
}

// Parts lists the parts in the tray of the simulated jig, beside the standards.
func (s *Session) Parts() []string { return s.parts }

// Put puts a part or a standard of the tray into the simulated jig.
func (s *Session) Put(name string) error {
	card, ok := s.card.(inserter)
	if !ok {
		return fmt.Errorf("live: %q cannot be put in by itself: this card is not simulated", name)
	}
	return card.Insert(name)
}

// run makes one run and shows how it goes.
func (s *Session) run(ctx context.Context, cfg audio.Config, stimulus []float64) (*audio.Record, error) {
	m, ok := s.card.(audio.Monitor)
	if !ok {
		return s.card.Run(ctx, cfg, stimulus)
	}
	of := float64(cfg.Frames) / cfg.RateHz
	return m.RunMonitored(ctx, cfg, stimulus, func(first int64, block [][]float64) bool {
		s.opts.Progress(float64(first+int64(len(block[0])))/cfg.RateHz, of)
		return true
	})
}
