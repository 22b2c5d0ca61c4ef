package lockin

import (
	"example.org/wheatear/lockin/internal/phase"
	"math"
	"math/cmplx"
)

// lock follows the tone of a reference channel: a phase-locked loop that averages
// the reference, turned back by its own phase, over about a cycle at a time (a
// tick), and corrects phase and frequency by the angle that is left.
//
// With x = 2π·LoopHz·tick the loop is of second type and critically damped:
// phase += 2x·angle, frequency += x²·angle/tick. A clock that is off by a constant
// leaves no angle at all. A tick whose power is far below the usual is passed
// over, so that the frequency holds through a gap.
type lock struct {
	rateHz float64
	tick   int         // frames
	gain   float64     // x
	phase  phase.Turns // at the next frame
	step   phase.Turns // a frame, the integral part of the loop
	seen   int         // frames into the tick
	sum    tickSums
	turn   complex128 // exp(−j·phase) at the next frame
	by     complex128 // exp(−j·step)
	power  float64    // usual |mean|² of a tick
	vector complex128 // running mean of the ticks' phasors, unit length each
	share  float64    // how much of that mean has been filled
}

// tickSums are the sums of a tick: of the samples, of the samples turned, and of
// the turns themselves and their squares.
type tickSums struct {
	value               float64
	turned, once, twice complex128
}

// phasor returns the tone's phasor over n frames. A tick that is not quite a cycle
// would leave in the mean some of the offset and of the tone's mirror image
// conj(R)·exp(−2jφ); both shares are known and taken out.
func (s tickSums) phasor(n int) complex128 {
	share := complex(1/float64(n), 0)
	m := 2 * share * (s.turned - complex(s.value, 0)*share*s.once)
	g := share * s.twice
	return (m - g*cmplx.Conj(m)) / complex(1-real(g)*real(g)-imag(g)*imag(g), 0)
}

const (
	lockHoldPower = 1e-4 // ticks 40 dB below the usual are passed over
	lockCoherence = 0.9  // unit phasors' mean: angle scattered by less than 0.46 rad
	lockAngle     = 0.1  // rad, largest mean angle called locked
)

func newLock(c DemodConfig) *lock {
	tick := max(4, int(math.Round(c.RateHz/c.ReferenceHz)))
	l := &lock{
		rateHz: c.RateHz, tick: tick, turn: 1,
		gain: 2 * math.Pi * c.LoopHz * float64(tick) / c.RateHz,
		step: phase.StepOf(c.ReferenceHz, c.RateHz),
	}
	l.by = cmplx.Conj(l.step.Phasor())
	return l
}

// next takes one frame of the reference and reports whether a tick is complete.
func (l *lock) next(v float64) bool {
	l.sum.value += v
	l.sum.turned += complex(v*real(l.turn), v*imag(l.turn))
	l.sum.once += l.turn
	l.sum.twice += l.turn * l.turn
	l.turn *= l.by
	l.phase = l.phase.Add(l.step)
	l.seen++
	if l.seen < l.tick {
		return false
	}
	l.correct(l.sum.phasor(l.tick))
	l.seen, l.sum = 0, tickSums{}
	return true
}

// correct closes the loop with the phasor of a tick.
func (l *lock) correct(seen complex128) {
	power := real(seen)*real(seen) + imag(seen)*imag(seen)
	if math.IsNaN(power) || math.IsInf(power, 0) {
		power = 0
	}
	l.power += l.gain * (power - l.power)
	if power > lockHoldPower*l.power {
		angle := cmplx.Phase(seen)
		x := l.gain / (2 * math.Pi) // angles from here on in turns
		l.phase = l.phase.Add(phase.TurnsNear(2 * x * angle))
		l.step = l.step.Add(phase.TurnsNear(l.gain * x * angle / float64(l.tick)))
		l.remember(seen / complex(math.Sqrt(power), 0))
	} else {
		l.remember(0)
	}
	l.turn, l.by = cmplx.Conj(l.phase.Phasor()), cmplx.Conj(l.step.Phasor())
}

func (l *lock) remember(unit complex128) {
	l.vector += complex(l.gain, 0) * (unit - l.vector)
	l.share += l.gain * (1 - l.share)
}

// locked reports whether the angles of late were small and alike.
func (l *lock) locked() bool {
	return l.share > 0.9 && cmplx.Abs(l.vector) > lockCoherence*l.share && math.Abs(cmplx.Phase(l.vector)) < lockAngle
}

func (l *lock) freqHz() float64 { return l.step.Of() * l.rateHz }

// processLocked demodulates frame by frame, each harmonic turned by its multiple
// of the reference's phase.
func (d *Demodulator) processLocked(dst []complex128, src, ref []float64) {
	width := len(d.channel)
	for j, v := range src {
		for i := range d.channel {
			w := phasorPower(d.lock.turn, d.plan.config.Harmonics[i])
			y := d.channel[i].filter(complex(2*v*real(w), 2*v*imag(w)))
			if o := d.output(j); o >= 0 && dst != nil {
				dst[o*width+i] = y
			}
		}
		d.lock.next(ref[j])
	}
	d.frames += uint64(len(src))
}

// phasorPower returns w to the n-th, n ≥ 1, by squaring.
func phasorPower(w complex128, n int) complex128 {
	out := complex128(1)
	for ; n > 0; n >>= 1 {
		if n&1 == 1 {
			out *= w
		}
		w *= w
	}
	return out
}
