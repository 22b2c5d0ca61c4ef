package audiotest

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"example.org/wheatear/audio"
)

// session is a card under test with a short and a long run to make on it.
type session struct {
	card  audio.Card
	o     Options
	cfg   audio.Config // for the short run, filled in
	tone  []float64
	long  audio.Config
	drone []float64 // for the long run
}

// shortSeconds is the length of an ordinary run.
const shortSeconds = 0.1

func newSession(card audio.Card, o Options) (*session, error) {
	s := &session{card: card, o: o}
	base, err := o.Config.WithDefaults(0)
	if err != nil {
		return nil, err
	}
	s.cfg, s.long = base, base
	s.cfg.Frames = int(shortSeconds * base.RateHz)
	s.long.Frames = int(o.LongSeconds * base.RateHz)
	s.tone = tone(s.cfg.Frames / 2)
	s.drone = slices.Repeat(tone(4801), s.long.Frames/4801+1)
	return s, nil
}

// tone is quiet and not symmetric in any way.
func tone(frames int) []float64 {
	out := make([]float64, frames)
	for i := range out {
		n := float64(i)
		out[i] = 0.1*math.Sin(0.13*n) + 0.03*math.Cos(0.31*n+0.4)
	}
	return out
}

// run makes a run that must be complete.
func (s *session) run(cfg audio.Config) (*audio.Record, error) {
	rec, err := s.card.Run(context.Background(), cfg, s.tone)
	if err != nil {
		return nil, fmt.Errorf("Run failed: %w", err)
	}
	return rec, checkComplete(rec, cfg)
}

// checkComplete judges a record that came with a nil error.
func checkComplete(rec *audio.Record, cfg audio.Config) error {
	if rec == nil {
		return errors.New("Run returned neither a record nor an error")
	}
	if rec.Frames() != cfg.Frames {
		return fmt.Errorf("%d frames recorded and no error, %d were asked for", rec.Frames(), cfg.Frames)
	}
	for _, e := range rec.Events {
		if e.Kind == audio.Truncated {
			return fmt.Errorf("a complete record has the event %+v", e)
		}
	}
	return checkRecord(rec, cfg)
}

// checkRecord judges what every record must be.
func checkRecord(rec *audio.Record, cfg audio.Config) error {
	if len(rec.Channels) != len(cfg.Inputs) {
		return fmt.Errorf("%d channels recorded, inputs %v were asked for", len(rec.Channels), cfg.Inputs)
	}
	for i, ch := range rec.Channels {
		if len(ch) != rec.Frames() {
			return fmt.Errorf("channel %d has %d frames, channel 1 has %d", i+1, len(ch), rec.Frames())
		}
	}
	if !(rec.RateHz > 0) {
		return fmt.Errorf("a rate of %g Hz in the record", rec.RateHz)
	}
	if rec.Source == "" {
		return errors.New("the record does not say where it is from")
	}
	for _, e := range rec.Events {
		if e.Frame < -1 || e.Frame > int64(rec.Frames()) || e.Kind == "" {
			return fmt.Errorf("the event %+v is not about a place in %d frames", e, rec.Frames())
		}
	}
	return nil
}

// checkCutShort judges a run that was ended on its way for the given cause.
func checkCutShort(rec *audio.Record, err error, cfg audio.Config, cause error) error {
	switch {
	case err == nil:
		return errors.New("no error from a run that was ended on its way; if it was already complete, raise LongSeconds")
	case !errors.Is(err, cause):
		return fmt.Errorf("the error %q does not wrap the cause %q", err, cause)
	case rec == nil && errors.Is(err, audio.ErrCutShort):
		return fmt.Errorf("the error %q says cut short, but there is no record", err)
	case rec == nil:
		return fmt.Errorf("nothing is left of a run that was ended on its way (%w); if it had not begun, raise CancelAfter", err)
	case !errors.Is(err, audio.ErrCutShort):
		return fmt.Errorf("there is a record, but the error %q does not wrap ErrCutShort", err)
	case rec.Frames() == 0 || rec.Frames() >= cfg.Frames:
		return fmt.Errorf("%d of %d frames cannot be cut short", rec.Frames(), cfg.Frames)
	}
	n := len(rec.Events)
	if n == 0 || rec.Events[n-1].Kind != audio.Truncated || rec.Events[n-1].Frame != int64(rec.Frames()) {
		return fmt.Errorf("the last event is not Truncated at frame %d: %v", rec.Frames(), rec.Events)
	}
	return checkRecord(rec, cfg)
}

// checkFailed judges a run of which nothing may be left.
func checkFailed(rec *audio.Record, err error) error {
	switch {
	case err == nil:
		return errors.New("no error")
	case rec != nil:
		return fmt.Errorf("a record of %d frames beside the error %q", rec.Frames(), err)
	case errors.Is(err, audio.ErrCutShort):
		return fmt.Errorf("the error %q says cut short, but there is no record", err)
	}
	return nil
}

// within calls f and complains if it takes longer than the patience.
func (s *session) within(f func() error) error {
	began := time.Now()
	err := f()
	if took := time.Since(began); err == nil && took > s.o.Patience {
		return fmt.Errorf("it took %v, longer than %v", took.Round(time.Millisecond), s.o.Patience)
	}
	return err
}

// sameSamples compares two records sample by sample.
func sameSamples(a, b *audio.Record) bool {
	return slices.EqualFunc(a.Channels, b.Channels, func(x, y []float64) bool { return slices.Equal(x, y) })
}
