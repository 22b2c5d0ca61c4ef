package trouble

import (
	"example.org/wheatear/lockin/internal/num"
	"math"
	"math/cmplx"
	"sort"
)

// suspect is a place where a break may be: between frames lo and hi, or exactly
// there where a run of equal samples shows it.
type suspect struct {
	lo, hi int
	why    reason
	track  int     // index of the track that shows it
	size   float64 // step of phase in rad or of log level
	after  int     // the models must not reach across the suspects before
	before int     // and behind
	roomy  bool    // away from where the tone starts and stops
}

// edgeRoom is how many blocks must stand between a step of level and an end of
// the tone, as a fade is a step of level too.
const edgeRoom = 3

// leastPart of the level must be there for a step to be looked at: less is silence.
const leastPart = 0.05

type reason uint8

const (
	whyRun    reason = iota // all channels hold one value
	whySilent               // the tone is away
	whyPhase                // the phase steps
	whyLevel                // the level steps
	whyPulse                // a block differs from its neighbours on both sides
)

// suspects lists the places to examine, ordered by frame, none twice.
func (b *breaks) suspects() []suspect {
	all := b.runSuspects()
	for i := range b.tracks {
		all = append(all, b.trackSuspects(i)...)
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].why < all[j].why })
	var out []suspect
	for _, s := range all {
		reach := 0
		if s.why >= whyPulse { // a step nearby makes pulses, too
			reach = 3 * b.tracks[s.track].hop
		}
		if !overlapsAny(s, reach, out) {
			out = append(out, s)
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].lo < out[j].lo })
	fence(out, b.first, b.end, b.tracks[0].hop)
	return out
}

// fence keeps the models of each suspect away from its neighbours, unless they
// are so near that nothing would be left.
func fence(list []suspect, first, end, least int) {
	for i := range list {
		s := &list[i]
		s.after, s.before = first, end
		if i > 0 && s.lo-list[i-1].hi >= least {
			s.after = list[i-1].hi
		}
		if i+1 < len(list) && list[i+1].lo-s.hi >= least {
			s.before = list[i+1].lo
		}
	}
}

func overlapsAny(s suspect, reach int, list []suspect) bool {
	for _, t := range list {
		if s.lo < t.hi+reach && t.lo < s.hi+reach {
			return true
		}
	}
	return false
}

// trackSuspects compares blocks that share no sample.
func (b *breaks) trackSuspects(i int) []suspect {
	w := b.tracks[i]
	st := w.steps()
	found := func(k int, why reason, size float64) suspect {
		at := w.frame(k)
		return suspect{lo: at - w.hop, hi: at + w.hop, why: why, track: i, size: size, roomy: st.room(k, edgeRoom)}
	}
	var out []suspect
	limit := stepThreshold(len(st.ok))
	for _, k := range st.outliers(st.phase, math.Max(st.phaseSigma, w.noise/w.level), limit, 0, w) {
		out = append(out, found(k, whyPhase, st.phase[k]))
	}
	for _, k := range st.outliers(st.logLevel, math.Max(st.levelSigma, w.noise/w.level), limit, edgeRoom, w) {
		out = append(out, found(k, whyLevel, st.logLevel[k]))
	}
	for _, k := range w.pulses(st.turn, limit) {
		out = append(out, found(k-1, whyPulse, 0))
	}
	return append(out, w.silences(i)...)
}

// steps are the changes from block k to block k+2 of a track.
type steps struct {
	phase, logLevel        []float64
	ok                     []bool // the tone stands in k, k+1 and k+2
	turn                   complex128
	phaseSigma, levelSigma float64
}

// steps forms all changes and their robust spread; common slopes are taken off.
func (t toneTrack) steps() steps {
	n := max(0, len(t.z)-2)
	s := steps{phase: make([]float64, n), logLevel: make([]float64, n), ok: make([]bool, n)}
	on := t.whole(leastPart)
	var turn complex128
	for k := range s.ok {
		if s.ok[k] = on[k] && on[k+1] && on[k+2]; s.ok[k] {
			c := t.z[k+2] * cmplx.Conj(t.z[k])
			turn += c / complex(cmplx.Abs(c), 0)
		}
	}
	s.turn = unit(turn)
	for k := range s.ok {
		if s.ok[k] {
			s.phase[k] = cmplx.Phase(t.z[k+2] * cmplx.Conj(t.z[k]) * cmplx.Conj(s.turn))
			s.logLevel[k] = math.Log(cmplx.Abs(t.z[k+2]) / cmplx.Abs(t.z[k]))
		}
	}
	shift, sigma := takeCentre(s.phase, s.ok)
	s.turn *= cmplx.Rect(1, shift)
	s.phaseSigma = sigma
	_, s.levelSigma = takeCentre(s.logLevel, s.ok)
	return s
}

// takeCentre subtracts the median of the valid values and returns it with the
// robust spread.
func takeCentre(x []float64, ok []bool) (centre, sigma float64) {
	var valid []float64
	for i, v := range x {
		if ok[i] {
			valid = append(valid, v)
		}
	}
	centre, sigma = num.RobustSpread(valid)
	for i := range x {
		x[i] -= centre
	}
	return centre, sigma
}

func unit(z complex128) complex128 {
	if a := cmplx.Abs(z); a > 0 {
		return z / complex(a, 0)
	}
	return 1
}

// stepThreshold is the step, in standard deviations by the larger of the robust
// spread and the noise beside the tone, that white noise exceeds anywhere among n
// steps with a chance below 1e-4. The estimates from few blocks are themselves
// uncertain, which the second term pays for. Found by simulation: one in 1000
// passes 4.0 for n from 4 to 20, 4.4 for n = 400; see TestStepThresholdFalseAlarms.
func stepThreshold(n int) float64 { return 5.5 + 8/float64(max(n, 4)) }

// outliers returns where d exceeds limit·sigma and is the largest of its
// neighbourhood, margin valid steps or more away from where the tone starts and
// stops.
func (s steps) outliers(d []float64, sigma, limit float64, margin int, w watched) []int {
	var out []int
	for k, v := range d {
		a := math.Abs(v)
		if !s.ok[k] || a <= limit*sigma || a == 0 || !s.largest(d, k) || !s.room(k, margin) {
			continue
		}
		// Sample noise, from the noise of a Hann block of N samples: √(N/6) times.
		perSample := w.noise * math.Sqrt(float64(w.hop)/3)
		if a*w.level > 6*perSample || s.isolated(d, k, sigma) {
			out = append(out, k)
		}
	}
	return out
}

func (s steps) largest(d []float64, k int) bool {
	for i := max(0, k-2); i <= min(len(d)-1, k+2); i++ {
		if a, c := math.Abs(d[i]), math.Abs(d[k]); s.ok[i] && (a > c || a == c && i < k) {
			return false
		}
	}
	return true
}

func (s steps) room(k, margin int) bool {
	for i := k - margin; i <= k+margin; i++ {
		if i < 0 || i >= len(s.ok) || !s.ok[i] {
			return false
		}
	}
	return true
}

// isolated says that the steps three blocks away, which see nothing of a sudden
// change, have no part in it: what decays slowly is no break.
func (s steps) isolated(d []float64, k int, sigma float64) bool {
	for _, i := range []int{k - 3, k + 3} {
		if i >= 0 && i < len(d) && s.ok[i] && d[i]*d[k] > 0 && math.Abs(d[i]) > math.Abs(d[k])/4+3*sigma {
			return false
		}
	}
	return true
}

// pulses returns the blocks that differ from the mean of their neighbours on both
// sides; turn is the rotation over two blocks.
func (t toneTrack) pulses(turn complex128, limit float64) []int {
	n, on := len(t.z), t.whole(0.5)
	power := make([]float64, n)
	var valid []float64
	for k := 2; k+2 < n; k++ {
		if on[k-2] && on[k+2] {
			power[k] = num.SqAbs(t.z[k] - (t.z[k-2]*turn+t.z[k+2]*cmplx.Conj(turn))/2)
			valid = append(valid, power[k])
		}
	}
	mean := math.Max(num.Quantile(valid, 0.5)/math.Ln2, 1.5*t.noise*t.noise)
	var out []int
	for k := 2; k+2 < n; k++ {
		if power[k] > 0.7*limit*limit*mean && power[k] >= power[k-1] && power[k] > power[k+1] {
			out = append(out, k)
		}
	}
	return out
}

// silences returns the stretches of at least one block without the tone between
// two with it.
func (t toneTrack) silences(track int) []suspect {
	var out []suspect
	on, last := t.on(leastPart), -1
	for k, now := range on {
		if !now {
			continue
		}
		if last >= 0 && k > last+1 {
			lo, hi := t.first+last*t.hop, t.first+(k+2)*t.hop
			out = append(out, suspect{lo: lo, hi: hi, why: whySilent, track: track})
		}
		last = k
	}
	return out
}
