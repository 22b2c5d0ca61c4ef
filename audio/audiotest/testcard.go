package audiotest

import (
	"errors"
	"fmt"
	"testing"
	"time"

	"example.org/wheatear/audio"
	"go.uber.org/goleak"
)

// Options says what the card under test can do. The zero value suits a card that
// is faster than real time.
type Options struct {
	Config audio.Config // settings that the card surely serves

	// Repeats says that the same stimulus gives the same record each time, as a
	// simulated card without faults does. Then records are compared with each other.
	Repeats bool

	LongSeconds float64       // length of a run that is cancelled on its way; 0 means 20
	CancelAfter time.Duration // when it is, for a card that is no audio.Monitor; 0 means 30 ms
	Patience    time.Duration // how long a cancelled run may take to end; 0 means 3 s
}

// withDefaults fills in what was left out.
func (o Options) withDefaults() Options {
	if o.LongSeconds == 0 {
		o.LongSeconds = 20
	}
	if o.CancelAfter == 0 {
		o.CancelAfter = 30 * time.Millisecond
	}
	if o.Patience == 0 {
		o.Patience = 3 * time.Second
	}
	return o
}

// TestCard checks that the cards that open returns keep the contract of
// [audio.Card], and of the optional interfaces that they implement. Each rule is a
// subtest with a card of its own; a failure says which rule was broken and why
// there is such a rule.
func TestCard(t *testing.T, open func() (audio.Card, error), o Options) {
	t.Helper()
	for _, r := range rules {
		t.Run(r.name, func(t *testing.T) {
			err := r.try(open, o)
			if errors.Is(err, errNotApplicable) {
				t.Skip(err)
			}
			if err != nil {
				t.Error(err)
			}
		})
	}
}

// rule is one clause of the contract.
type rule struct {
	name  string
	why   string
	check func(s *session) error
}

// errNotApplicable skips a rule about something that the card does not offer.
var errNotApplicable = errors.New("not offered by this card")

// try opens a card, checks the rule, and looks for goroutines left behind.
func (r rule) try(open func() (audio.Card, error), o Options) error {
	before := goleak.IgnoreCurrent()
	card, err := open()
	if err != nil {
		return fmt.Errorf("no card to test: %w", err)
	}
	s, err := newSession(card, o.withDefaults())
	if err == nil {
		err = r.check(s)
	}
	if errors.Is(err, errNotApplicable) {
		return err
	}
	if err != nil {
		return fmt.Errorf("rule %q is broken: %w\n(%s)", r.name, err, r.why)
	}
	if err := goleak.Find(before); err != nil {
		return fmt.Errorf("rule %q leaves goroutines behind: %w\n(Run must not return before all that it started has ended)", r.name, err)
	}
	return nil
}
