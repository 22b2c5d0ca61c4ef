package audio

import (
	"fmt"
	"math"
	"slices"
)

// What a Config means where it says nothing.
const (
	DefaultRateHz      = 48000
	DefaultTailSeconds = 0.5 // recorded after the stimulus: sound servers delay by up to 0.4 s
	DefaultBlockFrames = 1024
)

// What sound cards do. A rate or a number of channels beyond these is a slip or a
// damaged file, and is refused before anything is sized by it.
const (
	LeastRateHz  = 1000.0
	MostRateHz   = 2e6
	MostChannels = 1024
)

// maxFrames keeps a slip of a digit from asking for more memory than there is:
// it is one hour at 192 kHz.
const maxFrames = 3600 * 192000

// Config says how a run is to be made. The zero value is usable.
type Config struct {
	RateHz      float64 `json:"rate_hz"`      // frames per second; 0 means 48000
	Frames      int     `json:"frames"`       // to record; 0 means the stimulus and half a second
	Inputs      []int   `json:"inputs"`       // channels to record, in this order, counted from 1; nil means 1 and 2
	Outputs     []int   `json:"outputs"`      // channels that play, counted from 1; nil means 1 and 2
	BlockFrames int     `json:"block_frames"` // frames handled at once, a wish; 0 means 1024
}

// WithDefaults returns cfg with everything filled in that was left out, for a
// stimulus of the given length. It is the only place that does so and the only
// one that judges a Config; an error wraps [ErrConfig]. The slices are copies.
func (cfg Config) WithDefaults(stimulusFrames int) (Config, error) {
	if cfg.RateHz == 0 {
		cfg.RateHz = DefaultRateHz
	}
	if cfg.BlockFrames == 0 {
		cfg.BlockFrames = DefaultBlockFrames
	}
	if cfg.Inputs == nil {
		cfg.Inputs = []int{1, 2}
	}
	if cfg.Outputs == nil {
		cfg.Outputs = []int{1, 2}
	}
	cfg.Inputs, cfg.Outputs = slices.Clone(cfg.Inputs), slices.Clone(cfg.Outputs)
	if err := cfg.check(); err != nil {
		return Config{}, err
	}
	if cfg.Frames == 0 {
		cfg.Frames = stimulusFrames + int(math.Ceil(DefaultTailSeconds*cfg.RateHz))
	}
	if cfg.Frames > maxFrames {
		return Config{}, fmt.Errorf("%w: %d frames to record; %d are the most", ErrConfig, cfg.Frames, maxFrames)
	}
	return cfg, nil
}

// check judges what was given; Frames may still be 0.
func (cfg Config) check() error {
	switch {
	case !(cfg.RateHz > 0) || math.IsInf(cfg.RateHz, 0):
		return fmt.Errorf("%w: a rate of %g Hz; give frames per second, such as 48000", ErrConfig, cfg.RateHz)
	case cfg.RateHz < LeastRateHz || cfg.RateHz > MostRateHz:
		return fmt.Errorf("%w: a rate of %g Hz is not one of a sound card; 8000 to 384000 are", ErrConfig, cfg.RateHz)
	case cfg.Frames < 0:
		return fmt.Errorf("%w: %d frames to record; give a number above 0", ErrConfig, cfg.Frames)
	case cfg.BlockFrames < 0 || cfg.BlockFrames > 1<<20:
		return fmt.Errorf("%w: blocks of %d frames; 1 to 1048576 are possible", ErrConfig, cfg.BlockFrames)
	}
	if err := checkChannels("input", cfg.Inputs); err != nil {
		return err
	}
	return checkChannels("output", cfg.Outputs)
}

// checkChannels wants at least one channel, each at least 1 and named once.
func checkChannels(what string, channels []int) error {
	if len(channels) == 0 {
		return fmt.Errorf("%w: no %s channel", ErrConfig, what)
	}
	for i, ch := range channels {
		if ch < 1 {
			return fmt.Errorf("%w: %s channel %d; channels are counted from 1", ErrConfig, what, ch)
		}
		if slices.Contains(channels[:i], ch) {
			return fmt.Errorf("%w: %s channel %d named twice", ErrConfig, what, ch)
		}
	}
	return nil
}
