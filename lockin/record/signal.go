package record

import (
	"errors"
	"fmt"
)

// Signal is what one card heard: channels sampled together on one clock.
type Signal struct {
	RateHz   float64     // samples per second
	Channels [][]float64 // one slice per channel, equal lengths, full scale = 1
	Bits     int         // resolution of an integer record; 0 for floating point
}

// ErrSignal is wrapped by errors about signals that cannot be analysed at all.
var ErrSignal = errors.New("lockin: unusable signal")

// Frames returns the number of samples in each channel.
func (s Signal) Frames() int {
	if len(s.Channels) == 0 {
		return 0
	}
	return len(s.Channels[0])
}

// Slice returns the frames from first up to and not including end. The samples
// are shared with s.
func (s Signal) Slice(first, end int) Signal {
	out := Signal{RateHz: s.RateHz, Bits: s.Bits, Channels: make([][]float64, len(s.Channels))}
	for i, ch := range s.Channels {
		out.Channels[i] = ch[first:end]
	}
	return out
}

func (s Signal) check() error {
	if !(s.RateHz > 0) {
		return fmt.Errorf("%w: rate %g Hz", ErrSignal, s.RateHz)
	}
	if len(s.Channels) == 0 {
		return fmt.Errorf("%w: no channels", ErrSignal)
	}
	for i, ch := range s.Channels {
		if len(ch) != len(s.Channels[0]) {
			return fmt.Errorf("%w: channel %d has %d samples, channel 1 has %d", ErrSignal, i+1, len(ch), len(s.Channels[0]))
		}
	}
	return nil
}
