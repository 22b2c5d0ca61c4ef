package record

import (
	"example.org/wheatear/lockin/internal/num"
	"math"
	"sort"
)

// span is where in a record the tone stands steady.
type span struct {
	first, end int // frames, [first, end)
	silence    int // frames at the start that surely precede the tone
	margin     int // frames after end that still have half of the level
	pauses     int // interruptions of the tone between its start and its end
	pauseFrame int // where the first of them begins
}

// steadySpan finds where the level stands: after start-up silence, latency and
// fade-in, before the tone ends. It follows an envelope: the tone's own where there
// is one tone (mains and noise then count little), all power otherwise. freqsHz
// holds the tones expected, lowest first.
func steadySpan(sig Signal, freqsHz []float64) span {
	n := sig.Frames()
	env := newEnvelope(sig, freqsHz)
	level := env.plateau()
	if level == 0 || len(env.v) < 8 {
		return span{end: n}
	}
	run := env.longestRun(level / 2)
	s := span{first: 0, end: n, pauses: run.breaks, pauseFrame: env.frame(run.breakAt)}
	if run.first > 0 {
		s.first, s.silence = env.onset(run.first, level)
	}
	if run.last < len(env.v)-1 {
		s.margin = env.width
		s.end = min(n, env.frame(run.last)-s.margin)
	}
	if s.end-s.first < n/50 {
		return span{end: n}
	}
	return s
}

// envelope is the level of the strongest channel in short, overlapping windows.
type envelope struct {
	v     []float64
	hop   int // frames between values
	width int // frames a value looks at
}

// frame returns the frame in the middle of value i.
func (e envelope) frame(i int) int { return i*e.hop + e.width/2 }

func newEnvelope(sig Signal, freqsHz []float64) envelope {
	lowest := 50.0
	if len(freqsHz) > 0 {
		lowest = freqsHz[0]
	}
	e := envelope{width: int(sig.RateHz * math.Max(0.004, 3/lowest))}
	if len(freqsHz) != 1 {
		e.width = int(sig.RateHz * math.Max(0.01, 1/lowest))
	}
	e.width = max(8, min(e.width, sig.Frames()/8))
	e.hop = max(1, e.width/8)
	var best float64
	for _, ch := range sig.Channels {
		v := e.follow(ch, freqsHz, sig.RateHz)
		if total := num.Average(v); total > best {
			best, e.v = total, v
		}
	}
	return e
}

// follow returns the envelope of one channel.
func (e envelope) follow(x []float64, freqsHz []float64, rateHz float64) []float64 {
	c, s := make([]float64, e.width), make([]float64, e.width)
	single := len(freqsHz) == 1
	sum := 0.0
	for k := range c {
		w := 1 - math.Cos(2*math.Pi*(float64(k)+0.5)/float64(e.width))
		sum += w
		c[k], s[k] = w, w
		if single {
			sin, cos := math.Sincos(2 * math.Pi * freqsHz[0] / rateHz * float64(k))
			c[k], s[k] = w*cos, w*sin
		}
	}
	var out []float64
	for at := 0; at+e.width <= len(x); at += e.hop {
		var re, im float64
		for k, v := range x[at : at+e.width] {
			if single {
				re += v * c[k]
				im += v * s[k]
			} else {
				re += v * v * c[k]
			}
		}
		if single {
			out = append(out, 2*math.Hypot(re, im)/sum)
		} else {
			out = append(out, math.Sqrt(2*re/sum))
		}
	}
	return out
}

// plateau returns the level that the tone holds: the median of what is above half
// of a high quantile, so that neither silence nor a click decides.
func (e envelope) plateau() float64 {
	if len(e.v) == 0 {
		return 0
	}
	s := append([]float64(nil), e.v...)
	sort.Float64s(s)
	high := s[len(s)*95/100]
	i := sort.SearchFloat64s(s, high/2)
	return num.Median(s[i:])
}

// toneRun is a stretch of values above a threshold; short dips do not end it.
type toneRun struct{ first, last, breaks, breakAt int }

// longestRun returns the longest stretch above the threshold. Dips shorter than
// the window belong to it; longer ones are counted as breaks of the whole.
func (e envelope) longestRun(threshold float64) toneRun {
	best, cur := toneRun{last: -1}, toneRun{first: -1}
	ends := []int{}
	low := 0
	closeRun := func() {
		if cur.first >= 0 && cur.last-cur.first > best.last-best.first {
			best = cur
		}
		if cur.first >= 0 {
			ends = append(ends, cur.last)
		}
		cur = toneRun{first: -1}
	}
	for i, v := range e.v {
		if v >= threshold {
			if cur.first < 0 {
				cur.first = i
			}
			cur.last, low = i, 0
			continue
		}
		if low++; low > 2*e.width/e.hop {
			closeRun()
		}
	}
	closeRun()
	if best.last < 0 {
		return toneRun{last: len(e.v) - 1}
	}
	best.breaks = len(ends) - 1
	if best.breaks > 0 {
		best.breakAt = ends[0]
	}
	return best
}

// onset returns the first frame after the fade-in, with a guard for what settles
// right after it, and the end of the silence before it. at is where the envelope
// passes half of the level.
func (e envelope) onset(at int, level float64) (first, silence int) {
	lo, hi := at, at
	before := 0.0 // hum may be there before the tone
	for _, v := range e.v[:at/2] {
		before = math.Max(before, v)
	}
	low := 0.1*level + 0.9*math.Min(before, level/2)
	for lo > 0 && e.v[lo] > low {
		lo--
	}
	for hi < len(e.v)-1 && e.v[hi] < 0.9*level {
		hi++
	}
	rise := (hi - lo) * e.hop
	return e.frame(hi) + rise, max(0, e.frame(lo)-e.width)
}
