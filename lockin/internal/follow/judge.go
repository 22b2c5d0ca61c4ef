package follow

import (
	"math"
	"math/cmplx"

	"example.org/wheatear/lockin/internal/phase"
)

// judge ends a window: is the tone there?
func (l *Lock) judge() {
	n := float64(l.sums.ticks)
	amp := math.Max(0, real(l.sums.phasor)/n)
	share := l.sums.share(amp)
	switch {
	case l.state == held:
		l.tryAgain()
		return
	case l.state == locked && share < l.threshold/2:
		// What came since the window before last may have dragged the loop.
		l.hold(l.beforeEnd.phase.Add(l.stepBefore().Times(uint64(l.beforeEnd.age))))
	case l.state == locked:
		l.remember(amp)
	case share >= l.threshold:
		l.remember(amp)
		if l.good++; l.good == confirm {
			l.state, l.retry, l.jumped = locked, false, true
		}
	default:
		l.again()
		return
	}
	l.clearWindow()
}

// remember keeps what a good window was like.
func (l *Lock) remember(amp float64) {
	n := float64(l.sums.ticks)
	l.amp, l.usual = amp, l.sums.power/n
	l.steady = amp * amp / l.usual
	l.before, l.beforeEnd = l.recent, l.recentEnd
	l.recent, l.recentEnd = l.sums.advance/float64(l.sums.frames), mark{l.own.phase, 0}
	if l.good == 0 {
		l.before, l.beforeEnd = l.recent, l.recentEnd
	}
}

// stepBefore is the oscillator's step in the window before the last good one.
func (l *Lock) stepBefore() phase.Turns { return l.nominal.step.Add(phase.Near(l.before)) }

// hold lets the frequency of two windows ago go on from a phase.
func (l *Lock) hold(at phase.Turns) {
	l.own = oscillator{phase: at, step: l.stepBefore()}
	l.state, l.good = held, 0
	l.status.Held, l.status.Unlocked = true, true
	l.clearWindow()
}

// lose gives the reference up.
func (l *Lock) lose() {
	l.own = oscillator{phase: l.own.phase, step: l.nominal.step}
	l.state, l.good, l.amp = hunting, 0, 0
	l.status.Unlocked = true
	l.clearWindow()
}

// again goes on hunting at the strongest tone of the window, or ends an attempt made
// in hold-over.
func (l *Lock) again() {
	l.good = 0
	if l.retry {
		l.own, l.state, l.retry = l.kept, held, false
	} else {
		l.jumpTo(l.search.strongest())
	}
	l.clearWindow()
}

// jumpTo sets the oscillator to a tone found in the window that ends here.
func (l *Lock) jumpTo(offset float64, mean complex128) {
	ticks := float64(l.search.seen) - 0.5
	turns := cmplx.Phase(mean)/(2*math.Pi) + offset*ticks
	l.own = oscillator{
		phase: l.nominal.phase.Add(phase.Near(turns)),
		step:  l.nominal.step.Add(phase.Near(offset / float64(l.frames))),
	}
	l.amp = cmplx.Abs(mean)
}

// listen looks, in hold-over, for a reference that is back as it was.
func (l *Lock) listen(m complex128) {
	s := &l.sums
	s.back += m
	s.backSize += cmplx.Abs(m)
	if s.backN++; s.backN < returnTicks {
		return
	}
	mean := s.backSize / returnTicks
	if cmplx.Abs(s.back) > returnCoherence*s.backSize && mean*mean > l.usual/4 && mean*mean < 4*l.usual {
		l.own.phase = l.own.phase.Add(phase.Near(cmplx.Phase(s.back) / (2 * math.Pi)))
		l.state, l.jumped = locked, true
		l.clearWindow()
		return
	}
	s.back, s.backSize, s.backN = 0, 0, 0
}

// tryAgain follows, in hold-over, the strongest tone of a window if it is strong enough
// to be one; the held oscillator runs on beside it.
func (l *Lock) tryAgain() {
	offset, mean := l.search.strongest()
	if l.sums.share(cmplx.Abs(mean)) >= l.threshold {
		l.kept, l.retry = l.own, true
		l.state = hunting
		l.jumpTo(offset, mean)
	}
	l.clearWindow()
}

// Gap says that n frames are missing. Phases run on; the tick is begun anew. A lock that
// has seen no whole tick for too long is held over.
func (l *Lock) Gap(n int64) {
	l.pass(int64(l.seen))
	l.blind += int64(l.seen) + n
	switch {
	case l.state == locked && l.blind > l.patience:
		l.hold(l.own.phase)
	case l.state != locked && n > int64(l.frames):
		l.clearWindow()
	}
	l.pass(n)
	l.begin()
}

// Take returns what happened since it was last called.
func (l *Lock) Take() Status {
	s := l.status
	l.status = Status{Unlocked: l.state != locked, Held: l.state == held || l.retry}
	return s
}

// Jumped reports, once, whether lock was found.
func (l *Lock) Jumped() bool {
	j := l.jumped
	l.jumped = false
	return j
}

// Left returns how many frames come before the lock changes next.
func (l *Lock) Left() int { return l.frames - l.seen }

// FreqHz returns the present frequency.
func (l *Lock) FreqHz() float64 { return l.own.step.Of() * l.rateHz }
