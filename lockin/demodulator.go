package lockin

import (
	"example.org/wheatear/lockin/internal/phase"
	"fmt"
)

// demodBlock frames share one exact phase.
const demodBlock = 64

// Demodulator is a lock-in amplifier for one stream: it multiplies the samples by
// exp(−jωt), twice over (cosine and sine), and filters what is left near zero
// frequency. It is not safe for concurrent use.
type Demodulator struct {
	plan    *Plan
	channel []demodChannel
	lock    *lock // nil with tones of known frequency
	frames  uint64
}

// Demodulator returns a new stream at rest.
func (p *Plan) Demodulator() *Demodulator {
	d := &Demodulator{plan: p}
	for i := range p.steps {
		c := p.channel(i)
		phase.FillPhasors(c.ahead[:], phase.Turns{}, c.step.Neg())
		for j := range c.ahead {
			c.ahead[j] *= 2
		}
		d.channel = append(d.channel, c)
	}
	if p.config.ReferenceHz != 0 {
		d.lock = newLock(p.config)
	}
	return d
}

// Frames returns how many frames were processed.
func (d *Demodulator) Frames() int64 { return int64(d.frames) }

// Outputs returns how many outputs the next n frames will give.
func (d *Demodulator) Outputs(n int) int {
	every := uint64(d.plan.config.Every)
	return int((d.frames+uint64(n))/every - d.frames/every)
}

// Locked reports whether the reference channel holds the lock; always true for
// tones of known frequency.
func (d *Demodulator) Locked() bool { return d.lock == nil || d.lock.locked() }

// ReferenceHz returns the frequency of the reference at present, as recorded; 0
// without a reference channel.
func (d *Demodulator) ReferenceHz() float64 {
	if d.lock == nil {
		return 0
	}
	return d.lock.freqHz()
}

// Process demodulates the next block and returns the number of outputs, one after
// every Every frames since the start of the stream. Output o is
// dst[o·Width : (o+1)·Width]: peak phasors, with time origin at the first frame
// of the stream or, locked to a reference, relative to the phase of its tone
// (h-fold for harmonic h).
//
// src holds full-scale samples, of any number, and is only read; ref holds the
// reference channel of the same frames and is nil without one. dst needs
// Width·Outputs(len(src)) elements, the rest of it is left alone; with dst nil
// the filters advance and the outputs are dropped. dst and src cannot overlap, as
// their types differ. Nothing is allocated. How the stream is cut into blocks does
// not change the outputs.
//
// A NaN or an infinity in src stays in the filters for good, and in the outputs;
// in ref it costs the lock one tick.
//
// It panics if dst is neither nil nor long enough, or if ref does not fit: other
// than len(src) with a reference, other than nil without.
func (d *Demodulator) Process(dst []complex128, src, ref []float64) int {
	outputs := d.Outputs(len(src))
	d.checkLengths(dst, src, ref, outputs)
	if d.lock != nil {
		d.processLocked(dst, src, ref)
		return outputs
	}
	for len(src) > 0 {
		at := int(d.frames % demodBlock)
		n := min(demodBlock-at, len(src))
		written := d.Outputs(n) * len(d.channel)
		for i := range d.channel {
			d.known(i, dst, src[:n], at)
		}
		d.frames += uint64(n)
		src = src[n:]
		if dst != nil {
			dst = dst[written:]
		}
	}
	return outputs
}

func (d *Demodulator) checkLengths(dst []complex128, src, ref []float64, outputs int) {
	if need := outputs * len(d.channel); dst != nil && len(dst) < need {
		panic(fmt.Sprintf("lockin: Process needs %d elements in dst, got %d", need, len(dst)))
	}
	if d.lock != nil && len(ref) != len(src) {
		panic(fmt.Sprintf("lockin: Process got %d reference samples for %d frames", len(ref), len(src)))
	}
	if d.lock == nil && ref != nil {
		panic("lockin: Process got a reference that the plan does not use")
	}
}

// known demodulates at most demodBlock frames, from frame at of such a block, for
// output i.
func (d *Demodulator) known(i int, dst []complex128, src []float64, at int) {
	c := &d.channel[i]
	base := c.step.Times(d.frames - uint64(at)).Neg().Phasor()
	for j, v := range src {
		w := c.ahead[at+j] * base
		y := c.filter(complex(v*real(w), v*imag(w)))
		if o := d.output(j); o >= 0 && dst != nil {
			dst[o*len(d.channel)+i] = y
		}
	}
}

// output returns which output of the block frame j completes, or −1.
func (d *Demodulator) output(j int) int {
	every := uint64(d.plan.config.Every)
	if n := d.frames + uint64(j) + 1; n%every == 0 {
		return int(n/every-d.frames/every) - 1
	}
	return -1
}
