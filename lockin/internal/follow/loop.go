// Package follow follows a tone that somebody else makes: a phase-locked loop of third
// order, which lags neither behind a frequency nor behind one that moves evenly; a
// search for where to begin; and a judge of whether there is a tone at all.
package follow

import (
	"math"

	"example.org/wheatear/lockin/internal/phase"
)

// gains of the loop for one tick: what of the phase error goes into phase, frequency
// and its rate of change.
type gains struct{ phase, freq, accel float64 }

// gainsFor returns those of a triple pole with a noise bandwidth of b turns per tick.
//
// With the error averaged over a tick, phase + ½·frequency, the loop's characteristic
// polynomial in u = z − 1 is u³ + (K1 + K2/2)u² + (K2 + K3/2)u + K3, to be (u + g)³.
// In continuous time a triple pole at −ω has the bandwidth 33/32·ω; g follows from
// that where ticks are short, else from the sum over the loop's own answer.
func gainsFor(b float64) gains {
	g := -math.Expm1(-b * 32 / 33)
	if b > 0.01 {
		low, high := 0.0, 0.9
		for range 50 {
			if g = (low + high) / 2; triple(g).bandwidth() < b {
				low = g
			} else {
				high = g
			}
		}
	}
	return triple(g)
}

func triple(g float64) gains {
	k3 := g * g * g
	k2 := 3*g*g - k3/2
	return gains{3*g - k2/2, k2, k3}
}

// bandwidth returns ½·Σh² of the loop's answer to an error of one tick, in turns per
// tick.
func (g gains) bandwidth() float64 {
	var p, v, a, sum float64 // of the loop, to an error of 1 in the first tick
	e := 1.0
	for range 100_000 {
		p, v, a = p+v+g.phase*e, v+a+g.freq*e, a+g.accel*e
		sum += p * p
		if p*p+v*v+a*a < 1e-16*sum {
			break
		}
		e = -(p + v/2)
	}
	return sum / 2
}

// oscillator runs along with the tone.
type oscillator struct {
	phase phase.Turns // at the next frame
	step  phase.Turns // of a frame
	accel float64     // turns a frame, per tick
}

// run lets n frames pass.
func (o *oscillator) run(n int64) { o.phase = o.phase.Add(o.step.Times(uint64(n))) }

// steer corrects by an error in turns found over a tick of some frames, and returns by
// how much the phase was moved.
func (o *oscillator) steer(g gains, turns float64, frames int) float64 {
	per := 1 / float64(frames)
	o.phase = o.phase.Add(phase.Near(g.phase * turns))
	o.step = o.step.Add(phase.Near(o.accel + g.freq*turns*per))
	o.accel += g.accel * turns * per
	return g.phase * turns
}

// wheel turns exp(−jφ) frame by frame within a tick, eight at a time from one base.
type wheel struct {
	base complex128
	pow  [9]complex128
}

func (w *wheel) set(start, step phase.Turns) {
	w.base = start.Neg().Phasor()
	by := step.Neg().Phasor()
	w.pow[0], w.pow[1] = 1, by
	for i := 2; i < len(w.pow); i++ {
		w.pow[i] = w.pow[i/2] * w.pow[i-i/2]
	}
}

// fill writes the next values, the first of them at place seen of the tick.
func (w *wheel) fill(re, im []float64, seen int) {
	for at := 0; at < len(re); {
		r := seen & 7
		n := min(8-r, len(re)-at)
		p, q := real(w.base), imag(w.base)
		for j, v := range w.pow[r : r+n] {
			re[at+j] = p*real(v) - q*imag(v)
			im[at+j] = p*imag(v) + q*real(v)
		}
		if r+n == 8 {
			w.base *= w.pow[8]
		}
		at, seen = at+n, seen+n
	}
}
