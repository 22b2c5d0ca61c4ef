package trouble

import (
	"example.org/wheatear/lockin/internal/num"
	"fmt"
	"math"
	"math/cmplx"
)

// settleKind says what moves.
type settleKind string

const (
	settleNone   settleKind = ""          // nothing beyond noise
	settleRatio  settleKind = "ratio"     // the channels move against each other: part, plug or coupling settles
	settleSource settleKind = "source"    // both move alike, by little: the source settles
	settleGain   settleKind = "auto-gain" // the input's gain moves
)

// settleFigures is how a tone's level moves over a record.
type settleFigures struct {
	Kind settleKind
	// LevelChange is, per channel, how far the fitted level moves in all, relative;
	// NaN for a channel without the tone.
	LevelChange []float64
	// RatioChange is how far the ratio of channel 2 to channel 1 moves in all, and
	// RatioEffect how far its mean lies from its end, both relative and complex
	// (amplitude and phase). What moves both channels alike cancels in them.
	RatioChange, RatioEffect float64
	// P is the chance that noise alone gives a movement as large as the clearest.
	P float64
	// NoiseFollows is the exponent with which the noise follows the level: 1 for a
	// gain, 0 for a source; with its standard uncertainty, NaN if not known.
	NoiseFollows, NoiseFollowsU float64
	// SettledFrame is the first frame from which no movement shows any more, or the
	// end of the stretch.
	SettledFrame int
}

const (
	settleAlpha  = 2e-5 // per test; three tests are made
	settleLeast  = 12   // blocks
	gainChange   = 0.01 // a source does not drift by this within a record
	overlapScale = 4. / 3
	levelFloor   = 2e-4 // movements below these are not told: they are real in any room,
	ratioFloor   = 2e-5 // and no reading notices
	ratioShare   = 0.2  // a common movement leaves less than this of itself in the ratio
)

// FindSettling looks for slope and curvature of the logarithm of a tone's level,
// and of the ratio of two channels, over the frames [first, end). These should hold
// the steady tone alone, without fades or breaks. noise holds the residuals of the
// same frames without tones and lines, or nil: with them a gain that moves is told
// from a source that moves, as it takes the noise along.
//
// The test is F(2, n−3) on n blocks that overlap by half, against their own scatter
// (which covers hum), with the variance of a mean of overlapping blocks. White
// noise gives a false alarm in 1 record of 10000, noise of 1/f in 1 of 1000. An
// exponential approach by 1e-3 of the level is found with 60 dB of tone over noise
// in a second. A mains line that falls on the tone moves the level, too, and cannot
// be told from it here. x holds at least one channel; only the first two are compared.
//
// Where the tone has been fitted, x may hold what is left of it and fitted its complex
// amplitude in each channel, with the phase of the middle of the stretch; nil otherwise.
// At a low frequency this keeps the tone's own image out of the blocks.
func FindSettling(x, noise [][]float64, fitted []complex128, rateHz, freqHz float64, first, end int) settleFigures {
	s := settleFigures{P: 1, NoiseFollows: math.NaN(), NoiseFollowsU: math.NaN(), SettledFrame: first}
	length := trackLength(rateHz, freqHz, 0)
	if freqHz >= rateHz/2 || end-first < (settleLeast+1)*length/2 {
		return s
	}
	var logs [][]float64
	var tracks []toneTrack
	for ch := range x {
		t := followTone(x[ch], freqHz/rateHz, first, end, length)
		if fitted != nil {
			t.add(fitted[ch] * cmplx.Conj(turnHalf(freqHz/rateHz, first+end-1)))
		}
		s.LevelChange = append(s.LevelChange, math.NaN())
		if t.level > 20*t.noise && t.level > 0 {
			l := logLevels(t.z)
			s.LevelChange[ch] = s.judged(fitTrend(l))
			logs, tracks = append(logs, l), append(tracks, t)
		}
	}
	ratioP := s.compareRatio(tracks, len(x))
	s.P = math.Min(s.P, ratioP)
	if s.P > settleAlpha {
		return s
	}
	s.follow(logs, noise, tracks[0])
	s.Kind = s.judge(ratioP)
	s.SettledFrame = settledFrom(tracks, logs, end)
	return s
}

// judged returns how far a level moves, 0 where that is noise or too little to tell.
func (s *settleFigures) judged(t trend) float64 {
	if t.p > settleAlpha || t.change() < levelFloor {
		return 0
	}
	s.P = math.Min(s.P, t.p)
	return t.change()
}

// compareRatio fits the movement of the ratio where both channels have the tone.
func (s *settleFigures) compareRatio(tracks []toneTrack, channels int) (p float64) {
	if len(tracks) < 2 || channels < 2 {
		return 1
	}
	re, im := logRatio(tracks[0].z, tracks[1].z)
	a, b := fitTrend(re), fitTrend(im)
	if math.Min(a.p, b.p) > settleAlpha {
		return 1
	}
	s.RatioChange = math.Hypot(a.change(), b.change())
	s.RatioEffect = math.Hypot(a.atEnd(), b.atEnd())
	return math.Min(a.p, b.p)
}

// judge names what moves.
func (s *settleFigures) judge(ratioP float64) settleKind {
	largest := 0.0
	for _, c := range s.LevelChange {
		if !math.IsNaN(c) {
			largest = math.Max(largest, c)
		}
	}
	if ratioP > settleAlpha || s.RatioChange < ratioFloor {
		ratioP = 1
		if largest < levelFloor {
			return settleNone
		}
	}
	common := ratioP > settleAlpha || s.RatioChange < ratioShare*largest
	gain := largest > gainChange
	if s.NoiseFollowsU < 0.2 { // the noise decides
		gain = math.Abs(s.NoiseFollows-1) < 0.5
	}
	switch {
	case common && gain:
		return settleGain
	case common:
		return settleSource
	}
	return settleRatio
}

func logLevels(z []complex128) []float64 {
	out := make([]float64, len(z))
	for i, v := range z {
		out[i] = math.Log(math.Max(cmplx.Abs(v), 1e-300))
	}
	return out
}

// logRatio returns real and imaginary part of the logarithm of b/a, the phase
// counted from that of the mean.
func logRatio(a, b []complex128) (re, im []float64) {
	var mean complex128
	for i := range a {
		mean += b[i] * cmplx.Conj(a[i])
	}
	mean = unit(mean)
	re, im = make([]float64, len(a)), make([]float64, len(a))
	for i := range a {
		re[i] = math.Log(cmplx.Abs(b[i]) / cmplx.Abs(a[i]))
		im[i] = cmplx.Phase(b[i] * cmplx.Conj(a[i]) * cmplx.Conj(mean))
	}
	return re, im
}

// trend is slope and curvature of a series: y ≈ mean + b1·P1 + b2·P2, Legendre
// polynomials over the series, which are all but orthogonal on it.
type trend struct {
	b1, b2 float64
	p      float64 // chance of as much from noise
}

func fitTrend(y []float64) trend {
	n := len(y)
	mean := num.Average(y)
	var s1, s2, s11, s22, s20 float64
	for i := range y {
		p1, p2 := legendre12(i, n)
		s11 += p1 * p1
		s20 += p2
		s1 += p1 * (y[i] - mean)
	}
	c2 := s20 / float64(n) // P2 has a small mean on a grid
	for i := range y {
		_, p2 := legendre12(i, n)
		s22 += (p2 - c2) * (p2 - c2)
		s2 += (p2 - c2) * (y[i] - mean)
	}
	t := trend{b1: s1 / s11, b2: s2 / s22}
	rest := 0.0
	for i := range y {
		p1, p2 := legendre12(i, n)
		rest += num.Sq(y[i] - mean - t.b1*p1 - t.b2*(p2-c2))
	}
	m := float64(n - 3)
	f := (t.b1*s1 + t.b2*s2) / 2 / (overlapScale*rest/m + 1e-30)
	t.p = math.Pow(1+2*f/m, -m/2) // F(2, m) in closed form
	return t
}

func legendre12(i, n int) (p1, p2 float64) {
	u := 2*(float64(i)+0.5)/float64(n) - 1
	return u, (3*u*u - 1) / 2
}

// atEnd is the fitted value at the end against the mean.
func (t trend) atEnd() float64 { return t.b1 + t.b2 }

// change is the difference between the largest and the smallest fitted value.
func (t trend) change() float64 {
	lo, hi := math.Min(t.b2-t.b1, t.b2+t.b1), math.Max(t.b2-t.b1, t.b2+t.b1)
	if u := -t.b1 / (3 * t.b2); t.b2 != 0 && math.Abs(u) < 1 { // the vertex
		v := t.b1*u + t.b2*(3*u*u-1)/2
		lo, hi = math.Min(lo, v), math.Max(hi, v)
	}
	return hi - lo
}

// follow regresses the logarithm of the noise's rms on that of the level, block by
// block, the first channel that has both.
func (s *settleFigures) follow(logs, noise [][]float64, t toneTrack) {
	if len(noise) == 0 || len(noise[0]) < (len(t.z)+1)*t.hop {
		return
	}
	high := fourthDifference(noise[0])
	var n, sx, sy, sxx, sxy float64
	for k, l := range logs[0] {
		block := high[k*t.hop : min(len(high), (k+2)*t.hop)]
		p := num.MeanSquare(block)
		if p == 0 {
			return
		}
		y := math.Log(p) / 2
		n, sx, sy, sxx, sxy = n+1, sx+l, sy+y, sxx+l*l, sxy+l*y
	}
	if d := sxx - sx*sx/n; d > 0 {
		s.NoiseFollows = (sxy - sx*sy/n) / d
		// The variance of the log of an rms over N samples of a fourth difference is
		// 1.31/N: a quarter of 2/N times the sum of its squared autocorrelations,
		// 2.63. Blocks that share half their samples count half.
		s.NoiseFollowsU = math.Sqrt(2 * 1.31 / float64(2*t.hop) / d)
	}
}

// settledFrom drops blocks from the start, a sixteenth at a time, until neither
// level nor ratio moves any more.
func settledFrom(tracks []toneTrack, logs [][]float64, end int) int {
	series := append([][]float64(nil), logs...)
	if len(tracks) > 1 {
		re, im := logRatio(tracks[0].z, tracks[1].z)
		series = append(series, re, im)
	}
	n := len(series[0])
	for from := 0; n-from >= settleLeast; from += max(1, n/16) {
		still := true
		for _, y := range series {
			still = still && fitTrend(y[from:]).p > settleAlpha
		}
		if still {
			return tracks[0].first + from*tracks[0].hop
		}
	}
	return end
}

func (s settleFigures) levels() string {
	out := ""
	for i, c := range s.LevelChange {
		if math.IsNaN(c) {
			continue
		}
		if out != "" {
			out += " and "
		}
		out += fmt.Sprintf("%.2g %% (channel %d)", 100*c, i+1)
	}
	return out
}
