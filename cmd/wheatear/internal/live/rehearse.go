package live

import (
	"context"
	"errors"
	"fmt"

	"example.org/wheatear/audio/virtual"
	"example.org/wheatear/lockin/stimulus"
)

// Once makes one record of what is connected, whatever it is like: to find out what a
// card does to records, none of them is made once more. Of a plan without tones there
// is no analysis.
func (s *Session) Once(ctx context.Context, what Subject, plan *stimulus.Plan) (*Take, error) {
	return s.once(ctx, what, plan)
}

// Silence is a plan that plays nothing for so many seconds.
func (s *Session) Silence(seconds float64) *stimulus.Plan {
	rate := s.jig.Card.RateHz
	return &stimulus.Plan{Config: stimulus.Config{RateHz: rate, Seconds: seconds}, SteadyFrames: int(seconds * rate)}
}

// PlanFor plans tones that stand for so many seconds, with a peak of their own; 0 for
// that of the session.
func (s *Session) PlanFor(ctx context.Context, tones []stimulus.ToneRequest, peak, seconds float64) (*stimulus.Plan, error) {
	if peak == 0 {
		if s.peak == 0 {
			if err := s.findPeak(ctx, tones); err != nil {
				return nil, err
			}
		}
		peak = s.peak
	}
	seconds, err := longEnough(seconds, tones)
	if err != nil {
		return nil, err
	}
	return stimulus.PlanTones(stimulus.Config{
		RateHz: s.jig.Card.RateHz, LeadS: leadSeconds, FadeS: fadeSeconds,
		Seconds: leadSeconds + 2*fadeSeconds + seconds, Peak: peak, MainsHz: s.jig.MainsHz,
	}, tones)
}

// Hook connects the simulated card otherwise than its jig is wired.
func (s *Session) Hook(h virtual.Hookup) error {
	card, ok := s.card.(interface{ Hook(virtual.Hookup) error })
	if !ok {
		return errors.New("live: this card is not simulated: a person has to connect it")
	}
	return card.Hook(h)
}

// PutResistor puts a resistor of known value into the simulated jig: that of the tray
// which is called a load of this value, or else one from the drawer.
func (s *Session) PutResistor(ohm float64) error {
	if s.Put(fmt.Sprintf("load %g", ohm)) == nil {
		return nil
	}
	return s.Put(fmt.Sprintf("resistor %g", ohm))
}
