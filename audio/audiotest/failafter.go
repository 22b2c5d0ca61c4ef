package audiotest

import (
	"context"

	"example.org/wheatear/audio"
)

// FailAfter returns a card that loses its device after so many frames of each run,
// for the given cause, such as [audio.ErrLost]: a longer run is cut short, with 0
// frames it fails.
func FailAfter(card audio.Card, frames int, cause error) audio.Card {
	return &failing{card, frames, cause}
}

type failing struct {
	card   audio.Card
	frames int
	cause  error
}

func (f *failing) Run(ctx context.Context, cfg audio.Config, stimulus []float64) (*audio.Record, error) {
	full, err := cfg.WithDefaults(len(stimulus))
	if err != nil {
		return nil, err
	}
	want := full.Frames
	if want <= f.frames {
		return f.card.Run(ctx, full, stimulus)
	}
	failure := &audio.DeviceError{Op: "run", Device: "failing card", Err: f.cause}
	if f.frames <= 0 {
		return audio.CutShort(nil, want, failure)
	}
	full.Frames = f.frames
	rec, err := f.card.Run(ctx, full, stimulus)
	if err != nil {
		return rec, err
	}
	return audio.CutShort(rec, want, failure)
}
