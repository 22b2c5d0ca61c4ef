package cli

import (
	"fmt"
	"io"

	"example.org/wheatear/audio"
	"example.org/wheatear/audio/wave"
	"example.org/wheatear/lockin/record"
)

// What is held in memory of a recording, in samples of all channels together.
const (
	mostKnown   = 1 << 22 // of one whose length is known, and that is then analysed as a whole
	mostUnknown = 3 << 19 // of one that comes through a pipe
	headSamples = 1 << 19 // in which the tones of a longer one are looked for

	blockSamples = 8192 // read at once
)

// stream is a recording that is read once, from the front to the back.
type stream struct {
	app    *app
	name   string
	reader *wave.Reader
	format wave.Format
	head   [][]float64 // what has been read so far, per channel
	ended  bool        // head is all there is
}

// newStream reads as much as may be held.
func (a *app) newStream(in io.Reader, name string) (*stream, error) {
	reader, err := wave.NewReader(in)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, plainError{err})
	}
	s := &stream{app: a, name: name, reader: reader, format: reader.Format()}
	if s.format.Float {
		s.format.Bits = 0 // as in a lockin.Signal
	}
	most := mostUnknown
	switch n := s.format.Frames * int64(s.format.Channels); {
	case s.format.Frames >= 0 && n <= mostKnown:
		most = mostKnown
	case s.format.Frames >= 0:
		most = headSamples
	}
	return s, s.fill(most / s.format.Channels)
}

// fill reads the head, at most so many frames.
func (s *stream) fill(most int) error {
	expect := most
	if s.format.Frames >= 0 {
		expect = int(min(int64(most), s.format.Frames))
	}
	s.head = make([][]float64, s.format.Channels)
	for ch := range s.head {
		s.head[ch] = make([]float64, 0, expect+blockSamples) // growing would leave the old ones behind
	}
	return s.each(func(block []float64) (more bool, err error) {
		for ch := range s.head {
			for i := ch; i < len(block); i += s.format.Channels {
				s.head[ch] = append(s.head[ch], block[i])
			}
		}
		return len(s.head[0]) < most, nil
	})
}

// each hands on block after block, interleaved, until use wants no more or the
// recording ends.
func (s *stream) each(use func(block []float64) (more bool, err error)) error {
	block := make([]float64, max(1, blockSamples/s.format.Channels)*s.format.Channels)
	for {
		if err := s.app.ctx.Err(); err != nil {
			return err
		}
		n, err := s.reader.Read(block)
		if err == io.EOF {
			s.ended = true
			s.app.tellEvents(s.name, s.reader.Events())
			return nil
		}
		if err != nil {
			return fmt.Errorf("%s: %w", s.name, plainError{err})
		}
		if more, err := use(block[:n*s.format.Channels]); err != nil || !more {
			return err
		}
	}
}

// signal is what has been read.
func (s *stream) signal() record.Signal {
	return record.Signal{RateHz: s.format.RateHz, Channels: s.head, Bits: s.format.Bits}
}

// tones settles what --at means for this recording, judged by its beginning.
func (s *stream) tones(at frequencies, mainsHz float64) ([]float64, error) {
	start := s.signal()
	if n := headSamples / s.format.Channels; !s.ended && start.Frames() > n {
		start = start.Slice(0, n)
	}
	beginning := held{s.name, &audio.Record{RateHz: start.RateHz, Channels: start.Channels, Bits: start.Bits}}
	return tones(at, []source{beginning}, mainsHz, nil)
}

// analyse looks at a recording that is held as a whole.
func (s *stream) analyse(freqsHz []float64, mainsHz float64) (*record.Analysis, error) {
	analysis, err := record.Analyze(s.signal(), record.Config{TonesHz: freqsHz, MainsHz: mainsHz})
	if err != nil {
		return nil, fmt.Errorf("%s: %w", s.name, plainError{err})
	}
	return analysis, nil
}

// track follows the tones through a recording of any length.
func (s *stream) track(freqsHz []float64) (*record.Track, error) {
	tracker, err := record.NewTracker(record.TrackConfig{RateHz: s.format.RateHz, TonesHz: freqsHz, Channels: s.format.Channels})
	if err != nil {
		return nil, fmt.Errorf("%s: %w", s.name, plainError{err})
	}
	if err := tracker.Add(s.head); err != nil {
		return nil, err
	}
	s.head = nil
	err = s.each(func(block []float64) (bool, error) { return true, tracker.AddInterleaved(block) })
	if err != nil {
		return nil, err
	}
	track, err := tracker.Result()
	if err != nil {
		return nil, fmt.Errorf("%s: %w", s.name, plainError{err})
	}
	return track, nil
}
