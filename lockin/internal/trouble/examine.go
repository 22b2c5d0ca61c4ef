package trouble

import (
	"example.org/wheatear/lockin/internal/num"
	"math"
	"math/cmplx"
)

const (
	voidCost  = 16   // a sample four standard deviations from both models belongs to neither
	voidExtra = 30   // and a stretch of such needs this much evidence
	leastStep = 1e-3 // steps of level, or of one channel's phase, below this are not told
	sideSpan  = 6    // the local models look at this many blocks on either side
	longestMS = 250  // longest repeated block that is searched for
)

// verdict is what examining one suspect has shown, per channel where sliced.
type verdict struct {
	frame, end  int // of the whole record
	left, right []sines
	sigma       []float64 // standard deviation of a sample about the models
	phase, logL []float64 // step of the watched tone
	u           []float64 // standard uncertainty of these
	tone        int       // index of the watched tone in the models
	w           watched
}

// examine fits both sides of a suspect and says what stands between them.
func (b *breaks) examine(s suspect) (Gap, bool) {
	v, ok := b.compare(s)
	if !ok {
		return Gap{}, false
	}
	g := Gap{Frame: v.frame, End: v.end, PhaseRad: v.phase[v.w.ch], LevelRatio: math.Exp(v.logL[v.w.ch])}
	if s.why == whyRun {
		g.Frame, g.End = s.lo, s.hi
		return b.asRun(g, v)
	}
	if b.asVoid(&g, v) {
		return g, true
	}
	abrupt := g.End-g.Frame <= v.w.hop/2
	if !abrupt || s.why == whyPulse || s.why == whySilent {
		return Gap{}, false
	}
	return b.asStep(g, v, s)
}

// asRun accepts a run of equal samples that the tone contradicts.
func (b *breaks) asRun(g Gap, v verdict) (Gap, bool) {
	best := 0.0
	for ch, x := range b.x {
		l, r := v.left[ch].residual(x, g.Frame, g.End), v.right[ch].residual(x, g.Frame, g.End)
		excess := math.Min(num.MeanSquare(l), num.MeanSquare(r)) / (v.sigma[ch] * v.sigma[ch])
		best = math.Max(best, excess)
	}
	if !(best > voidCost) {
		return Gap{}, false
	}
	g.Kind, g.Frames = gapHeld, float64(g.End-g.Frame)
	if b.zeros(g.Frame, g.End) {
		g.Kind = gapZero
	}
	return g, true
}

func (b *breaks) zeros(from, to int) bool {
	for _, x := range b.x {
		if lo, hi := num.MinMax(x[from:to]); lo != 0 || hi != 0 {
			return false
		}
	}
	return true
}

// asVoid recognises a block that stands twice and a tone that is away.
func (b *breaks) asVoid(g *Gap, v verdict) bool {
	if lag := b.repeatedLag(g.Frame); lag > 0 {
		g.Kind, g.Frames = gapRepeated, float64(lag)
		if g.End > g.Frame {
			g.Frames = float64(g.End - g.Frame)
		}
		return true
	}
	if n := g.End - g.Frame; n >= ShortestRun && v.away(b.x[v.w.ch][g.Frame:g.End]) {
		g.Kind, g.Frames = gapSilent, float64(n)
		return true
	}
	return false
}

// away says that x lacks the tone. Over less than half a period a tone may be
// small of itself, so its power is compared with what the models ask for.
func (v verdict) away(x []float64) bool {
	var want, have float64
	m := v.left[v.w.ch]
	for i, s := range x {
		p := real(m.z[v.tone] * turnTo(m.turns[v.tone], v.frame+i))
		want += p * p
		have += (s - m.dc) * (s - m.dc)
	}
	sigma := v.sigma[v.w.ch]
	return have < 0.05*want && want > 40*sigma*sigma*float64(len(x))
}

// asStep judges a change that leaves nothing between the two sides: samples are
// missing where every channel's phase steps alike and no level does.
func (b *breaks) asStep(g Gap, v verdict, s suspect) (Gap, bool) {
	shown := math.Max(math.Abs(v.phase[v.w.ch]), math.Abs(v.logL[v.w.ch]))
	if shown < math.Abs(s.size)/2 || shown < 5*v.u[v.w.ch] {
		return Gap{}, false
	}
	if s.why == whyPhase && v.alike() {
		if v.clockStep() {
			g.Kind = GapClock
			return g, true
		}
		g.Kind = GapMissing
		g.Frames, g.Modulo = v.lost()
		return g, true
	}
	g.Kind = GapStep
	return g, s.roomy && shown >= leastStep
}

const (
	wholeFrames = 0.05 // lost samples are whole within this, and
	unsureFrame = 0.1  // a step of time known less well than this says nothing
	mostSteered = 1    // frames that a steered clock steps at once at the most (judged)
)

// clockStep says that time steps by what is no whole number of samples, alike for all
// tones: a clock that the system steers, and no sample is lost. A loss turns each tone by
// n samples and any number of its periods.
func (v verdict) clockStep() bool {
	l, r := v.left[v.w.ch], v.right[v.w.ch]
	var step, u, period []float64
	for i, t := range l.turns {
		uPhase := v.u[v.w.ch] * cmplx.Abs(l.z[v.tone]) / math.Max(cmplx.Abs(l.z[i]), 1e-300)
		if i > 0 && harmonic([]float64{l.turns[0], t}) || uPhase/(2*math.Pi*t) > unsureFrame {
			continue
		}
		step = append(step, cmplx.Phase(r.z[i]/l.z[i])/(2*math.Pi*t))
		u, period = append(u, wholeFrames+3*uPhase/(2*math.Pi*t)), append(period, 1/t)
	}
	fits := func(n float64) bool {
		for i := range step {
			if math.Abs(math.Remainder(step[i]-n, period[i])) > u[i] {
				return false
			}
		}
		return true
	}
	if len(step) == 0 || math.Abs(math.Remainder(step[0], period[0])) > mostSteered {
		return false
	}
	if fits(0) {
		return true
	}
	for n := 1.0; n <= longestLoss; n++ {
		if fits(n) || fits(-n) {
			return false
		}
	}
	return true
}

// longestLoss is how many frames may be lost at once, of a record with several tones.
const longestLoss = 12000

// alike says that all channels that carry the tone step by one phase, at one level.
func (v verdict) alike() bool {
	ref := v.w.ch
	for ch := range v.phase {
		if ch != ref && !(v.u[ch] < 0.1) {
			continue // hardly any tone there
		}
		apart := math.Abs(math.Remainder(v.phase[ch]-v.phase[ref], 2*math.Pi))
		if apart > 0.01+0.02*math.Abs(v.phase[ref])+5*math.Hypot(v.u[ch], v.u[ref]) {
			return false
		}
		if math.Abs(v.logL[ch]) > 0.02+5*math.Min(v.u[ch], 0.1) {
			return false
		}
	}
	return true
}

// lost returns how many frames are missing: for a lone tone up to whole periods
// (then modulo is the period), for several the number that suits all of them.
func (v verdict) lost() (frames, modulo float64) {
	turns := v.left[v.w.ch].turns
	period := 1 / turns[v.tone]
	frames = v.phase[v.w.ch] / (2 * math.Pi) * period
	if n, ok := v.lostByAll(); ok {
		return n, 0
	}
	if frames <= 0 {
		frames += period
	}
	return frames, period
}

// lostByAll tries all losses up to a quarter of a second of a record with several
// tones of their own (harmonics tell nothing new).
func (v verdict) lostByAll() (frames float64, ok bool) {
	l, r := v.left[v.w.ch], v.right[v.w.ch]
	if len(l.turns) < 2 || harmonic(l.turns) {
		return 0, false
	}
	miss := make([]float64, longestLoss)
	for i, t := range l.turns {
		now, step := l.z[i]*turnTo(t, 1), turnTo(t, 1)
		for n := range miss {
			miss[n] += num.SqAbs(now - r.z[i])
			now *= step
		}
	}
	best, second := 0, math.Inf(1)
	for n, m := range miss {
		if m < miss[best] {
			best = n
		}
	}
	for n, m := range miss {
		if n < best-1 || n > best+1 {
			second = math.Min(second, m)
		}
	}
	return float64(best + 1), miss[best] < second/4
}

// harmonic says that all frequencies are multiples of the first.
func harmonic(turns []float64) bool {
	for _, t := range turns {
		if m := t / turns[0]; math.Abs(m-math.Round(m)) > 1e-6 {
			return false
		}
	}
	return true
}

// repeatedLag looks for the distance at which what follows frame at repeats what
// came before, sample by sample in all channels; 0 if it does not, or if the
// record repeats itself there without any break (a tone without noise).
func (b *breaks) repeatedLag(at int) int {
	const probe = 16
	most := int(b.rateHz * longestMS / 1000)
	for _, shift := range []int{3, 0, 8, -8} {
		lag := b.matchBefore(at+shift, probe, most)
		if lag > 0 && b.matchBefore(at-2*probe, probe, most) == 0 {
			return lag
		}
	}
	return 0
}

func (b *breaks) matchBefore(at, probe, most int) int {
	if at < b.first || at+probe > b.end || ConstantRuns(b.x, at, at+probe, probe/2) != nil {
		return 0
	}
	for lag := 4; lag <= most && at-lag >= b.first; lag++ {
		if b.matches(at, lag, probe) {
			return lag
		}
	}
	return 0
}

func (b *breaks) matches(at, lag, probe int) bool {
	for _, x := range b.x {
		for i := at; i < at+probe; i++ {
			if x[i] != x[i-lag] {
				return false
			}
		}
	}
	return true
}
