package wave

import (
	"fmt"
	"io"
	"slices"

	"example.org/wheatear/audio"
)

// MostFrames is how long a recording may be that is read as a whole: 23 minutes at
// 48 kHz, one GB for two channels.
const MostFrames = 1 << 26

// ReadAll reads the chosen channels of a whole file, up to [MostFrames].
//
// Channels are counted from 1 and come in the order given; nil means the first
// two. Asking for a channel that the file has not is an error that wraps
// [ErrChannels]. The record's Source is the name of r where r has one, as an
// *os.File does; its Bits are 0 for floating point.
func ReadAll(r io.Reader, channels []int) (*audio.Record, error) {
	rd, err := NewReader(r)
	if err != nil {
		return nil, err
	}
	f := rd.Format()
	if channels, err = pick(channels, f.Channels); err != nil {
		return nil, err
	}
	if f.Frames > MostFrames {
		return nil, tooLong(f.Frames)
	}
	rec := &audio.Record{RateHz: f.RateHz, Bits: f.Bits, Channels: make([][]float64, len(channels))}
	if f.Float {
		rec.Bits = 0
	}
	if named, ok := r.(interface{ Name() string }); ok {
		rec.Source = named.Name()
	}
	for i := range rec.Channels {
		// Frames was counted in the file itself, not believed from its header; but a
		// file may have holes, so what is taken at once has a limit all the same.
		rec.Channels[i] = make([]float64, 0, min(max(0, f.Frames), 1<<24))
	}
	if err := rd.appendTo(rec.Channels, channels); err != nil {
		return nil, err
	}
	rec.Events = rd.Events()
	return rec, nil
}

func tooLong(frames int64) error {
	return fmt.Errorf("wave: %d frames are too many to be read as a whole, %d are possible: cut the recording", frames, MostFrames)
}

// pick checks a choice of channels against what the file has.
func pick(channels []int, have int) ([]int, error) {
	if channels == nil {
		if have < 2 {
			return nil, fmt.Errorf("wave: %w: two channels are needed, the file has one; record both inputs in one file", ErrChannels)
		}
		channels = []int{1, 2}
	}
	if len(channels) == 0 {
		return nil, fmt.Errorf("wave: %w: none asked for", ErrChannels)
	}
	for i, ch := range channels {
		if ch < 1 || ch > have {
			return nil, fmt.Errorf("wave: %w: channel %d asked for, the file has %d", ErrChannels, ch, have)
		}
		if slices.Contains(channels[:i], ch) {
			return nil, fmt.Errorf("wave: %w: channel %d asked for twice", ErrChannels, ch)
		}
	}
	return channels, nil
}

// appendTo reads to the end and appends channel which[i] to dst[i].
func (r *Reader) appendTo(dst [][]float64, which []int) error {
	step := r.format.Channels
	block := make([]float64, max(1, 8192/step)*step)
	for {
		n, err := r.Read(block)
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return err
		}
		if r.frame > MostFrames { // of a pipe, which did not say
			return tooLong(r.frame)
		}
		for i, ch := range which {
			out := dst[i]
			for k := ch - 1; k < n*step; k += step {
				out = append(out, block[k])
			}
			dst[i] = out
		}
	}
}
