package kept

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"

	"example.org/wheatear/audio"
)

// ErrNoRun is wrapped where a [Replayer] has nothing to play back, or not this.
var ErrNoRun = errors.New("kept: no such run")

// Replayer is a card that plays back what [Keep] kept.
type Replayer struct {
	dir string

	mu   sync.Mutex
	next int
}

var _ audio.Card = (*Replayer)(nil)

// Replay returns a card that gives the runs in a directory, one after the other.
// The settings of each must be those it was made with; the stimulus is not looked
// at, except for its length.
func Replay(dir string) *Replayer { return &Replayer{dir: dir} }

// Run gives the next run. An error of the card comes back in its words: it wraps
// [audio.ErrCutShort] where there is a record, but no longer its cause.
func (p *Replayer) Run(ctx context.Context, cfg audio.Config, stimulus []float64) (*audio.Record, error) {
	full, err := cfg.WithDefaults(len(stimulus))
	if err != nil {
		return nil, err
	}
	if ctx.Err() != nil {
		return nil, fmt.Errorf("kept: not begun: %w", context.Cause(ctx))
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	r, err := Read(runName(p.dir, p.next+1))
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrNoRun, err)
	}
	if !same(full, r.Config) || len(stimulus) != r.StimulusFrames {
		return nil, fmt.Errorf("%w: run %d was made with %+v and a stimulus of %d frames, not with %+v and %d",
			ErrNoRun, p.next+1, r.Config, r.StimulusFrames, full, len(stimulus))
	}
	p.next++
	if r.Err != nil && r.Record != nil {
		return r.Record, fmt.Errorf("%w: replayed: %w", audio.ErrCutShort, r.Err)
	}
	return r.Record, r.Err
}

func same(a, b audio.Config) bool {
	return a.RateHz == b.RateHz && a.Frames == b.Frames && slices.Equal(a.Inputs, b.Inputs) && slices.Equal(a.Outputs, b.Outputs)
}

// Left says how many runs have not been played back.
func (p *Replayer) Left() int {
	p.mu.Lock()
	defer p.mu.Unlock()
	n := 0
	for ; ; n++ {
		if _, err := Read(runName(p.dir, p.next+n+1)); err != nil {
			return n
		}
	}
}
