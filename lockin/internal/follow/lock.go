package follow

import (
	"math"
	"math/cmplx"

	"example.org/wheatear/lockin/internal/phase"
)

// Config is what to follow and how. All in hertz; checked by the caller.
type Config struct {
	RateHz, NearHz, RangeHz, LoopHz float64
	Harmonics                       []int
}

const (
	// leastShare is the part of the channel's power (without its mean) that must belong
	// to the tone: −17 dB.
	leastShare = 0.02
	// shareOverNoise is the same in units of what noise alone leaves in a window, where
	// that is more.
	shareOverNoise = 6
	// confirm windows in a row make a lock.
	confirm = 3
	// dropPower is a tick 20 dB below the last window's: the reference is gone.
	dropPower = 0.01
	// returnTicks that agree end a hold-over: unit phasors' mean above returnCoherence has
	// a chance of exp(−0.81·32) = 6e-12 in noise.
	returnTicks     = 32
	returnCoherence = 0.9
	// Slack is how much farther than its range a loop may go.
	Slack = 1.2
	// leastTick is how many frames a tick should have, to be cheap.
	leastTick = 32
)

type state uint8

const (
	hunting state = iota
	locked
	held
)

// Lock follows the tone of one channel.
type Lock struct {
	harmonics []int
	rateHz    float64
	nominal   oscillator // at NearHz
	own       oscillator
	gain      gains
	frames    int     // of a tick
	window    int     // ticks of a judgement, 2/LoopHz
	threshold float64 // share of power
	reach     float64 // turns a frame, either side of nominal
	patience  int64   // frames without a tick before a lock is held over

	wheels []wheel // of each harmonic
	first  wheel   // of the fundamental
	re, im []float64
	start  complex128 // exp(−jφ) at the beginning of the tick
	tick   tick
	seen   int // frames into the tick

	state  state
	good   int // windows in a row
	retry  bool
	kept   oscillator // while a candidate is tried in hold-over
	sums   windowSums
	search *search
	blind  int64 // frames since the last whole tick
	drops  int   // weak ticks in a row
	usual  float64
	amp    float64 // coherent amplitude of the last window
	steady float64 // share of the ticks' power that is coherent

	// Offsets from nominal, turns a frame, over the last window and the one before, and
	// the phase at the end of that.
	recent, before float64
	recentEnd      mark
	beforeEnd      mark
	status         Status
	jumped         bool // lock was found: the phase before is not that after
}

// mark is the oscillator's phase some frames ago.
type mark struct {
	phase phase.Turns
	age   int64
}

// windowSums are what a window is judged by.
type windowSums struct {
	ticks       int
	phasor      complex128
	sum, square float64
	power       float64 // of the ticks' phasors
	advance     float64 // turns beyond nominal
	frames      int64
	// Over the last returnTicks in hold-over:
	back     complex128
	backSize float64
	backN    int
}

// Status is what happened to the lock since it was last asked.
type Status struct {
	Unlocked bool // for some time at least
	Held     bool // the reference was gone; its last frequency went on
}

// New returns a lock at the nominal frequency.
func New(c Config) *Lock {
	cycles := math.Ceil(leastTick * c.NearHz / c.RateHz)
	cycles = math.Max(1, math.Min(cycles, math.Floor(math.Min(0.4*c.NearHz/c.RangeHz, c.NearHz/(5*c.LoopHz)))))
	l := &Lock{harmonics: c.Harmonics, rateHz: c.RateHz}
	l.frames = max(4, int(math.Round(cycles*c.RateHz/c.NearHz)))
	tickS := float64(l.frames) / c.RateHz
	l.gain = gainsFor(c.LoopHz * tickS)
	l.window = max(8, int(math.Ceil(2/(c.LoopHz*tickS))))
	l.threshold = math.Max(leastShare, shareOverNoise*c.LoopHz/c.RateHz)
	l.reach = Slack * c.RangeHz / c.RateHz
	l.patience = max(int64(0.1*c.RateHz/c.LoopHz), 2*int64(l.frames))
	l.nominal.step = phase.StepOf(c.NearHz, c.RateHz)
	l.search = newSearch(l.window, c.RangeHz*tickS)
	l.wheels = make([]wheel, len(c.Harmonics))
	l.re, l.im = make([]float64, l.frames), make([]float64, l.frames)
	l.Reset()
	return l
}

// Reset begins anew.
func (l *Lock) Reset() {
	l.nominal.phase = phase.Turns{}
	l.own = l.nominal
	l.state, l.good, l.retry, l.blind = hunting, 0, false, 0
	l.usual, l.amp, l.steady = 0, 0, 0
	l.recent, l.before = 0, 0
	l.begin()
	l.clearWindow()
	l.status, l.jumped = Status{Unlocked: true}, false
}

// begin starts a tick.
func (l *Lock) begin() {
	l.seen, l.tick = 0, tick{}
	l.first.set(l.own.phase, l.own.step)
	l.start = l.first.base
	for i, h := range l.harmonics {
		l.wheels[i].set(l.own.phase.Times(uint64(h)), l.own.step.Times(uint64(h)))
	}
}

func (l *Lock) clearWindow() {
	l.sums, l.search.seen, l.drops = windowSums{}, 0, 0
}

// Run takes frames of the reference and writes exp(−jhφ) for each of them and each
// harmonic.
func (l *Lock) Run(x []float64, re, im [][]float64) {
	for at := 0; at < len(x); {
		n := min(l.frames-l.seen, len(x)-at)
		l.first.fill(l.re[:n], l.im[:n], l.seen)
		l.tick.add(x[at:at+n], l.re, l.im)
		for i, h := range l.harmonics {
			if h == 1 {
				copy(re[i][at:at+n], l.re)
				copy(im[i][at:at+n], l.im)
				continue
			}
			l.wheels[i].fill(re[i][at:at+n], im[i][at:at+n], l.seen)
		}
		l.seen += n
		at += n
		if l.seen == l.frames {
			l.close()
		}
	}
}

// close ends a tick.
func (l *Lock) close() {
	r := l.frames & 7
	end := l.first.base * l.first.pow[r]
	m := l.tick.phasor(l.frames, l.start, l.first.pow[1], end)
	if l.state != locked {
		// As an oscillator at the nominal frequency would have seen it, half a tick in.
		half := float64(l.frames) / 2
		t := l.own.phase.Add(l.nominal.phase.Neg()).Of() + half*l.own.step.Add(l.nominal.step.Neg()).Of()
		l.search.add(m * cmplx.Rect(1, 2*math.Pi*t))
	}
	l.pass(int64(l.frames))
	l.blind = 0
	power := real(m)*real(m) + imag(m)*imag(m)
	l.sums.add(m, power, &l.tick, l.frames)
	beyond := float64(l.frames) * l.own.step.Add(l.nominal.step.Neg()).Of()
	switch {
	case l.state == held:
		l.listen(m)
	case l.state == locked && power < dropPower*l.usual:
		if l.drops++; l.drops >= l.mostDrops() {
			l.hold(l.own.phase)
		}
	default:
		l.drops = 0
		beyond += l.own.steer(l.gain, l.angle(m), l.frames)
		l.bound()
	}
	l.sums.advance += beyond
	if l.sums.ticks == l.window {
		l.judge()
	}
	l.begin()
}

// pass lets frames pass for the oscillators.
func (l *Lock) pass(n int64) {
	l.own.run(n)
	l.nominal.run(n)
	if l.retry {
		l.kept.run(n)
	}
	l.recentEnd.age += n
	l.beforeEnd.age += n
}

// mostDrops is how many weak ticks in a row end a lock: with a clean reference two,
// with one in noise, where a tick may be weak by chance, four.
func (l *Lock) mostDrops() int {
	if l.steady > 0.9 {
		return 2
	}
	return 4
}

// angle returns the phase error of a tick, in turns. Where noise hides a tick, that is
// where its part in phase is small, the angle is taken as if that were half the usual:
// it stays small and, on average, right.
func (l *Lock) angle(m complex128) float64 {
	return math.Atan2(imag(m), math.Max(real(m), l.amp/2)) / (2 * math.Pi)
}

// bound keeps the frequency in reach: a hunt goes on at the edge, a lock that was
// pulled out of reach is lost.
func (l *Lock) bound() {
	off := l.own.step.Add(l.nominal.step.Neg()).Of()
	if math.Abs(off) <= l.reach {
		return
	}
	if l.state == locked {
		l.lose()
		return
	}
	l.own.step = l.nominal.step.Add(phase.Near(math.Copysign(l.reach, off)))
	l.own.accel = 0
}

func (s *windowSums) add(m complex128, power float64, t *tick, frames int) {
	s.ticks++
	s.phasor += m
	s.power += power
	s.sum += t.sum
	s.square += t.square
	s.frames += int64(frames)
}

// share returns how much of the channel's power a tone of some amplitude is.
func (s *windowSums) share(amplitude float64) float64 {
	n := float64(s.frames)
	mean := s.sum / n
	power := s.square/n - mean*mean
	if !(power > 0) {
		return 0
	}
	return amplitude * amplitude / 2 / power
}
