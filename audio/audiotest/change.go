package audiotest

import (
	"context"

	"example.org/wheatear/audio"
)

// Change does to a record what real cables, drivers and settings do. What it does
// is legal: the record still keeps the contract, and nothing in it says that it
// was changed. Changing what is not there, such as a channel 3 of two, does nothing.
type Change struct {
	apply func(rec *audio.Record)
	takes int // frames that it may take away
}

// Apply changes a record in place.
func (c Change) Apply(rec *audio.Record) { c.apply(rec) }

// Gap takes n frames out, beginning at frame first.
func Gap(first, n int) Change {
	apply := func(rec *audio.Record) {
		from := min(max(first, 0), rec.Frames())
		to := min(from+max(n, 0), rec.Frames())
		for i, ch := range rec.Channels {
			rec.Channels[i] = append(ch[:from:from], ch[to:]...)
		}
	}
	return Change{apply, max(n, 0)}
}

// Swap exchanges the first two channels.
func Swap() Change {
	return Change{apply: func(rec *audio.Record) {
		if len(rec.Channels) >= 2 {
			rec.Channels[0], rec.Channels[1] = rec.Channels[1], rec.Channels[0]
		}
	}}
}

// Invert turns the sign of a channel, counted from 1.
func Invert(channel int) Change {
	return Change{apply: func(rec *audio.Record) {
		if channel < 1 || channel > len(rec.Channels) {
			return
		}
		for i, v := range rec.Channels[channel-1] {
			rec.Channels[channel-1][i] = -v
		}
	}}
}

// Mono gives the mean of all channels to each of them.
func Mono() Change {
	return Change{apply: func(rec *audio.Record) {
		for i := range rec.Frames() {
			sum := 0.0
			for _, ch := range rec.Channels {
				sum += ch[i]
			}
			for _, ch := range rec.Channels {
				ch[i] = sum / float64(len(rec.Channels))
			}
		}
	}}
}

// Skew delays a channel, counted from 1, by n frames, with zeros before; a
// negative n delays all others.
func Skew(channel, n int) Change {
	return Change{apply: func(rec *audio.Record) {
		for i, ch := range rec.Channels {
			if (i == channel-1) == (n > 0) {
				delay(ch, max(n, -n))
			}
		}
	}}
}

// delay moves the samples n places towards the end.
func delay(ch []float64, n int) {
	n = min(n, len(ch))
	copy(ch[n:], ch[:len(ch)-n])
	clear(ch[:n])
}

// Wrap returns a card whose records are changed, one change after the other. To
// replace the frames that a [Gap] takes away, it asks the card for more.
func Wrap(card audio.Card, changes ...Change) audio.Card {
	return &changed{card, changes}
}

type changed struct {
	card    audio.Card
	changes []Change
}

func (c *changed) Run(ctx context.Context, cfg audio.Config, stimulus []float64) (*audio.Record, error) {
	full, err := cfg.WithDefaults(len(stimulus))
	if err != nil {
		return nil, err
	}
	ask := full
	for _, change := range c.changes {
		ask.Frames += change.takes
	}
	rec, err := c.card.Run(ctx, ask, stimulus)
	if rec == nil {
		return nil, err
	}
	for _, change := range c.changes {
		change.apply(rec)
	}
	for i, ch := range rec.Channels {
		rec.Channels[i] = ch[:min(len(ch), full.Frames)]
	}
	if err != nil {
		return again(rec, full.Frames, err)
	}
	return rec, nil
}

// again states where a run was cut short, now that frames have been taken away.
func again(rec *audio.Record, want int, err error) (*audio.Record, error) {
	if n := len(rec.Events); n > 0 && rec.Events[n-1].Kind == audio.Truncated {
		rec.Events = rec.Events[:n-1]
	}
	cause := err
	if many, ok := err.(interface{ Unwrap() []error }); ok {
		cause = many.Unwrap()[len(many.Unwrap())-1]
	}
	return audio.CutShort(rec, want, cause)
}
