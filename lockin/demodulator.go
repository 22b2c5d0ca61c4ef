package lockin

import (
	"fmt"
	"slices"
)

// Demodulator is a lock-in amplifier for one stream: it multiplies the samples of every
// channel by 2·exp(−jωt) and filters what is left near zero frequency. It is for one
// goroutine at a time. Once its Result has grown to what a block needs, it does not
// allocate.
type Demodulator[T Sample] struct {
	cfg    Config
	scale  float64
	stream *stream
}

// New returns a stream at rest. The error wraps [ErrConfig].
func New[T Sample](cfg Config) (*Demodulator[T], error) {
	p, err := cfg.plan()
	if err != nil {
		return nil, err
	}
	if p.FullScale == 0 {
		p.FullScale = fullScale[T]()
	}
	return &Demodulator[T]{cfg: p.Config, scale: 1 / p.FullScale, stream: newStream(&p)}, nil
}

// Config returns the settings with the defaults filled in.
func (d *Demodulator[T]) Config() Config {
	c := d.cfg
	c.TonesHz, c.Harmonics = slices.Clone(c.TonesHz), slices.Clone(c.Harmonics)
	return c
}

// Frames returns the index of the next frame: how many came or were skipped.
func (d *Demodulator[T]) Frames() int64 {
	if d.stream == nil {
		return 0
	}
	return d.stream.frame
}

// Process takes frames and appends to r the outputs that they complete, one at every
// multiple of Config.Every. How the stream is cut into blocks changes no bit. A frame
// with a NaN or an infinity in any channel counts as lost, as by Skip(1).
//
// It panics where the number of channels is not that of the configuration, where that
// asks for an External reference, and for a Demodulator that is not from [New].
func (d *Demodulator[T]) Process(r *Result, in Frames[T]) {
	if d.cfg.External {
		panic("lockin: Process of a Demodulator with an External reference: use ProcessWith")
	}
	d.process(r, in, nil)
}

// ProcessWith is Process with a reference of the caller's own: exp(+jφ) for each frame.
// Harmonic h of it is its h-th power. A frame whose reference is not finite is lost.
//
// It panics where ref has not one value per frame, where the number of channels is not
// that of the configuration, where that does not ask for an External reference, and for
// a Demodulator that is not from [New].
func (d *Demodulator[T]) ProcessWith(r *Result, in Frames[T], ref []complex128) {
	if !d.cfg.External {
		panic("lockin: ProcessWith of a Demodulator without an External reference: use Process")
	}
	if len(ref) != in.n {
		panic(fmt.Sprintf("lockin: ProcessWith got %d values of the reference for %d frames", len(ref), in.n))
	}
	d.process(r, in, ref)
}

func (d *Demodulator[T]) process(r *Result, in Frames[T], ref []complex128) {
	s := d.stream
	if s == nil {
		panic("lockin: Process of a Demodulator that is not from New")
	}
	if in.channels != len(s.x) {
		panic(fmt.Sprintf("lockin: Process got %d channels, want %d", in.channels, len(s.x)))
	}
	for at := 0; at < in.n; {
		n := min(s.room(), in.n-at)
		good := in.copyTo(s.x, s.fill, at, n, d.scale)
		if ref != nil {
			good = s.external(ref[at : at+good])
		}
		if good > 0 {
			s.took(r, good)
		}
		if at += good; good < n {
			s.skip(1)
			at++
		}
	}
}

// Skip says that n frames were lost: the phases and the count of frames go on, the
// filters wait. The next output is flagged Lost, and outputs are not Settled until the
// filters are. Skip before the first frame says where the stream begins. It panics where
// n is negative or the count would exceed 2⁶², and for a Demodulator that is not from [New].
func (d *Demodulator[T]) Skip(n int64) {
	if d.stream == nil {
		panic("lockin: Skip of a Demodulator that is not from New")
	}
	if n < 0 || n > maxFrame-d.stream.frame {
		panic(fmt.Sprintf("lockin: Skip of %d frames at frame %d", n, d.stream.frame))
	}
	if n > 0 {
		d.stream.skip(n)
	}
}

// maxFrame bounds the count of frames.
const maxFrame = 1 << 62

// Retune goes to other tones, as many as before. The filters begin anew; t = 0 stays
// frame 0, so that the phase of a tone is what it would have been all along. The error
// wraps [ErrConfig]; nothing has changed then.
func (d *Demodulator[T]) Retune(tonesHz ...float64) error {
	if len(d.cfg.TonesHz) == 0 {
		return refuse("Retune of a Demodulator without TonesHz")
	}
	if len(tonesHz) != len(d.cfg.TonesHz) {
		return refuse("Retune to %d tones, want %d as before", len(tonesHz), len(d.cfg.TonesHz))
	}
	cfg := d.Config()
	cfg.TonesHz = tonesHz
	p, err := cfg.plan()
	if err != nil {
		return err
	}
	frame := d.stream.frame
	d.cfg = p.Config
	d.stream = newStream(&p)
	d.stream.frame = frame
	d.stream.place()
	return nil
}

// Reset goes back to frame 0 and to rest.
func (d *Demodulator[T]) Reset() {
	if d.stream != nil {
		d.stream.reset()
	}
}
