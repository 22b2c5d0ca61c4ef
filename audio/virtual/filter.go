package virtual

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
)

// filterBytes is read at most at once; what is there is used without waiting.
const filterBytes = 1 << 16

// Filter stands as the jig between two devices of a sound server: it reads raw
// frames of two channels in 32 bit floating point, little endian, takes the first
// as the drive, and writes what the two inputs hear in the same form, block by
// block as they come. The end of r ends it; ctx is looked at between blocks, so
// that a reader that may wait for ever must be closed to end it at once.
//
// What remains of a frame at the end is an error that wraps
// [io.ErrUnexpectedEOF].
func (c *Card) Filter(ctx context.Context, r io.Reader, w io.Writer, rateHz float64) error {
	s, err := c.Stream(rateHz)
	if err != nil {
		return err
	}
	f := &filter{stream: s, in: make([]byte, filterBytes)}
	for {
		if ctx.Err() != nil {
			return fmt.Errorf("virtual: filter ended: %w", context.Cause(ctx))
		}
		n, err := r.Read(f.in[f.kept:])
		if e := f.block(w, f.kept+n); e != nil {
			return e
		}
		if errors.Is(err, io.EOF) {
			return f.end()
		}
		if err != nil {
			return fmt.Errorf("virtual: reading frames: %w", err)
		}
	}
}

// frameBytes is the size of a frame of the filter.
const frameBytes = 8

type filter struct {
	stream  *Stream
	in, out []byte
	kept    int // bytes of a frame that is not whole yet
	drive   []float64
	heard   []float64
}

// block treats the whole frames of the first n bytes.
func (f *filter) block(w io.Writer, n int) (err error) {
	whole := n - n%frameBytes
	f.drive = f.drive[:0]
	for i := 0; i < whole; i += frameBytes {
		f.drive = append(f.drive, float64(math.Float32frombits(binary.LittleEndian.Uint32(f.in[i:]))))
	}
	f.kept = copy(f.in, f.in[whole:n])
	if f.heard, err = f.stream.Process(f.heard[:0], f.drive); err != nil {
		return err
	}
	f.out = f.out[:0]
	for _, v := range f.heard {
		f.out = binary.LittleEndian.AppendUint32(f.out, math.Float32bits(float32(v)))
	}
	if len(f.out) == 0 {
		return nil
	}
	if _, err := w.Write(f.out); err != nil {
		return fmt.Errorf("virtual: writing frames: %w", err)
	}
	return nil
}

func (f *filter) end() error {
	if f.kept > 0 {
		return fmt.Errorf("virtual: %d bytes of a frame at the end: %w", f.kept, io.ErrUnexpectedEOF)
	}
	return nil
}
