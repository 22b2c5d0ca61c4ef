package wave

import (
	"fmt"
	"io"

	"example.org/wheatear/audio"
)

// Writer encodes a file as a stream. It is not safe for concurrent use.
type Writer struct {
	w      io.Writer
	seek   io.Seeker // nil where the header cannot be written again
	base   int64     // where the file starts, for seek
	layout layout
	want   int64 // frames announced, -1 for none

	buf     []byte
	frames  int64 // written
	clipped int64
	failed  error
	closed  bool
}

// NewWriter writes the header of a file with samples of format f.
//
// f.Frames > 0 announces the length: the header is right from the start, more
// frames are refused, and beyond 4 GiB the file is RF64. With f.Frames <= 0 the
// length is open: where w can seek, 36 bytes are kept free in the header, and
// Close fills in the sizes, as RF64 if need be; where it cannot, the sizes stay
// 0xFFFFFFFF, which says "to the end of the file".
//
// Two channels at most, filling their container, give a plain header, all
// others an extensible one. A format that no header can state is an error
// wrapping [ErrFormat] or [ErrUnsupported].
func NewWriter(w io.Writer, f Format) (*Writer, error) {
	f, err := f.checkWrite()
	if err != nil {
		return nil, err
	}
	wr := &Writer{w: w, want: f.Frames}
	if wr.want <= 0 {
		wr.want = -1
	}
	if seek, ok := w.(io.Seeker); ok {
		if wr.base, err = seek.Seek(0, io.SeekCurrent); err == nil {
			wr.seek = seek
		}
	}
	wr.layout = layout{Format: f}
	wr.layout.slot = wr.want < 0 && wr.seek != nil || wr.layout.big(wr.want)
	wr.buf = make([]byte, max(1, blockBytes/f.frameBytes())*f.frameBytes())
	if err := wr.put(wr.layout.bytes(wr.want)); err != nil {
		return nil, err
	}
	return wr, nil
}

// put writes p and remembers a failure.
func (w *Writer) put(p []byte) error {
	if _, err := w.w.Write(p); err != nil {
		w.failed = fmt.Errorf("wave: writing after frame %d: %w", w.frames, err)
	}
	return w.failed
}

// Write adds interleaved samples, whole frames only; full scale is 1.
//
// Integers are rounded to the nearest, ties to even. What lies beyond full scale
// is clipped and counted; what is not a number cannot be written as an integer
// and is an error. src is not kept, and nothing is allocated.
func (w *Writer) Write(src []float64) error {
	if w.closed {
		return ErrClosed
	}
	if w.failed != nil {
		return w.failed
	}
	channels := w.layout.Channels
	if len(src)%channels != 0 {
		return fmt.Errorf("%w: %d are no whole frames of %d channels", ErrFrames, len(src), channels)
	}
	if n := int64(len(src) / channels); w.want >= 0 && n > w.want-w.frames {
		return fmt.Errorf("%w: %d frames announced, %d already written and %d more", ErrFrames, w.want, w.frames, n)
	}
	step := len(w.buf) / w.layout.frameBytes() * channels
	for len(src) > 0 {
		n := min(step, len(src))
		if err := w.block(src[:n]); err != nil {
			return err
		}
		src = src[n:]
	}
	return nil
}

func (w *Writer) block(src []float64) error {
	over, bad := w.layout.encode(w.buf, src)
	if bad >= 0 {
		w.failed = fmt.Errorf("wave: %w: frame %d holds a value that is not a number; integers have none",
			ErrFormat, w.frames+int64(bad/w.layout.Channels))
		return w.failed
	}
	if err := w.put(w.buf[:len(src)*w.layout.Container/8]); err != nil {
		return err
	}
	w.frames += int64(len(src) / w.layout.Channels)
	w.clipped += int64(over)
	return nil
}

// Clipped returns the number of samples so far that exceeded full scale and were
// clipped; always 0 for floating point.
func (w *Writer) Clipped() int64 { return w.clipped }

// Close ends the file: it pads the data to an even length and fills in the sizes
// if they are not right already. It does not close the underlying writer, which
// is left at the end of the file. After a failed Write it still finishes what
// was written, and returns that failure. A second Close does nothing.
func (w *Writer) Close() error {
	if w.closed {
		return nil
	}
	w.closed = true
	// Behind a length left open a pad byte would count as data.
	_, data := w.layout.sizes(w.frames)
	if open := w.want < 0 && w.seek == nil; data&1 == 1 && !open && w.failed == nil {
		w.put([]byte{0})
	}
	if w.frames == w.want {
		return w.failed
	}
	if w.seek != nil {
		if err := w.finish(); err != nil && w.failed == nil {
			w.failed = err
		}
	} else if w.want >= 0 && w.failed == nil {
		w.failed = fmt.Errorf("%w: %d frames announced, %d written, and the header cannot be changed", ErrFrames, w.want, w.frames)
	}
	return w.failed
}

// finish writes the header again, now that the length is known.
func (w *Writer) finish() error {
	if _, err := w.seek.Seek(w.base, io.SeekStart); err != nil {
		return fmt.Errorf("wave: seeking back to the header: %w", err)
	}
	if _, err := w.w.Write(w.layout.bytes(w.frames)); err != nil {
		return fmt.Errorf("wave: writing the sizes: %w", err)
	}
	riff, _ := w.layout.sizes(w.frames)
	if _, err := w.seek.Seek(w.base+8+riff, io.SeekStart); err != nil {
		return fmt.Errorf("wave: seeking to the end: %w", err)
	}
	return nil
}

// WriteAll writes a whole record with samples of the given width; rate, channels
// and length are those of the record. It returns the number of samples clipped.
func WriteAll(w io.Writer, rec *audio.Record, bits int, float bool) (clipped int64, err error) {
	for i, ch := range rec.Channels {
		if len(ch) != rec.Frames() {
			return 0, fmt.Errorf("%w: channel %d has %d, channel 1 has %d", ErrFrames, i+1, len(ch), rec.Frames())
		}
	}
	wr, err := NewWriter(w, Format{RateHz: rec.RateHz, Channels: len(rec.Channels), Bits: bits, Float: float, Frames: int64(rec.Frames())})
	if err != nil {
		return 0, err
	}
	const step = 4096
	block := make([]float64, 0, step*len(rec.Channels))
	for at := 0; at < rec.Frames(); at += step {
		block = audio.Interleave(block[:0], rec.Channels, at, min(at+step, rec.Frames()))
		if err = wr.Write(block); err != nil {
			break
		}
	}
	return wr.Clipped(), wr.Close()
}
