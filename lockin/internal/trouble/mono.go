package trouble

import (
	"fmt"
	"math"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/internal/num"
)

// monoFigures says how two channels compare as copies of one signal.
type monoFigures struct {
	Mono bool
	// Equal says that every sample is the same in both.
	Equal bool
	// Gain of channel 2 against channel 1, fitted to all samples,
	// with its standard uncertainty from the difference.
	Gain, GainU float64
	// DifferenceRMS is what channel 2 minus gain times channel 1 leaves, re full
	// scale, and RoundingRMS what rounding both to their grid would leave.
	DifferenceRMS, RoundingRMS float64
	// LevelRMS is the level of channel 2 without its mean.
	LevelRMS float64
	// NoiseGain and Unshared compare the noise alone (tones and hum taken out, low
	// frequencies filtered off): the gain between the channels, and the part of the
	// power that is not common, the median over parts of the record.
	NoiseGain, Unshared float64
}

const (
	roundingFactor = 2.0  // dither of either channel may raise the rounding noise by √3
	pannedFactor   = 1.2  // a panned copy is rounded once more, without dither
	monoLevel      = 1e-6 // a difference this far below the level is rounding of floating point
	monoUnshared   = 1e-3 // an input has 30 dB less noise of its own than it shares: no real pair does
	monoGain       = 1e-6 // gains nearer to 1 than this, and what noise explains, are 1
	monoParts      = 16   // of the record, of which the median decides
	noiseMargin    = 5.0  // a panned copy is told by noise this much above the difference
)

// FindMono judges whether two inputs carry one signal, as a recorder makes that
// has only one input, or mixes two.
//
// An open makes the tones of both inputs legitimately equal, and hum is often
// common, so tones decide nothing. Two converters, however, never make the same
// noise. Copies are told by: every sample equal; or channel 2 a multiple of channel
// 1 but for rounding, where the multiple is ±1 or the noise is well above rounding;
// or noise that is common but for a thousandth of its power, at gain ±1 within 1 %.
// noise1 and noise2 are the channels without tones and mains lines, from the same
// frames; nil leaves them out, and then only the samples decide.
//
// For white noise of two converters the false-alarm rate is nil: the part of the
// power that is not shared would have to fall from about 1 to 0.001. Two converters
// whose own noise is far below the rounding of the record, on the same node with
// gains that agree within 1e-4, cannot be told from a copy. Silence in either
// channel is no copy: both zero is digital silence.
func FindMono(x1, x2, noise1, noise2 []float64) monoFigures {
	var m monoFigures
	if len(x1) != len(x2) || len(x1) < 16 || constant(x1) || constant(x2) {
		return m
	}
	m.Equal = true
	for i := range x1 {
		if x1[i] != x2[i] {
			m.Equal = false
			break
		}
	}
	m.compareAll(x1, x2)
	m.compareNoise(noise1, noise2)
	m.Mono = m.Equal || m.copied() || m.sharedNoise()
	return m
}

// compareAll fits channel 2 as a multiple of channel 1.
func (m *monoFigures) compareAll(x1, x2 []float64) {
	c11, c12, c22 := covariances(x1, x2)
	n := float64(len(x1))
	m.Gain = c12 / c11
	// The residual is summed outright: the difference of two large sums would
	// leave nothing of a difference below 1e-8 of the level.
	mean1, mean2 := num.Average(x1), num.Average(x2)
	rest := 0.0
	for i := range x1 {
		rest += num.Sq(x2[i] - mean2 - m.Gain*(x1[i]-mean1))
	}
	m.DifferenceRMS = math.Sqrt(rest / n)
	m.LevelRMS = math.Sqrt(c22 / n)
	m.GainU = m.DifferenceRMS / math.Sqrt(c11)
	m.RoundingRMS = math.Sqrt((num.Sq(SampleGrid(x2)) + num.Sq(m.Gain*SampleGrid(x1))) / 12)
}

// compareNoise takes the fourth difference of the noise, which keeps the upper
// half of the band, where hum and what is left of tones do not reach.
func (m *monoFigures) compareNoise(noise1, noise2 []float64) {
	m.Unshared = 1
	if len(noise1) != len(noise2) || len(noise1) < 64 {
		return
	}
	d1, d2 := fourthDifference(noise1), fourthDifference(noise2)
	c11, c12, c22 := covariances(d1, d2)
	if c11 <= 0 || c22 <= 0 {
		return
	}
	m.NoiseGain = math.Copysign(math.Sqrt(c22/c11), c12)
	// What a click or a break leaves is common, and larger than all noise.
	var parts []float64
	n := max(len(d1)/monoParts, 60)
	for at := 0; at+n <= len(d1); at += n {
		c11, c12, c22 := covariances(d1[at:at+n], d2[at:at+n])
		if c11 > 0 && c22 > 0 {
			parts = append(parts, math.Max(0, 1-c12*c12/(c11*c22)))
		}
	}
	if len(parts) > 0 {
		m.Unshared = num.Median(parts)
	}
}

// copied says that the difference is rounding alone.
func (m *monoFigures) copied() bool {
	rounding := math.Max(roundingFactor*m.RoundingRMS, monoLevel*m.LevelRMS)
	if m.DifferenceRMS > rounding || m.LevelRMS < 20*m.DifferenceRMS {
		return false
	}
	sameGain := math.Abs(math.Abs(m.Gain)-1) < monoGain+4*m.GainU
	panned := m.DifferenceRMS < math.Max(pannedFactor*m.RoundingRMS, monoLevel*m.LevelRMS) && m.Unshared < 1/num.Sq(noiseMargin)
	return sameGain || panned
}

func (m *monoFigures) sharedNoise() bool {
	return m.Unshared < monoUnshared && math.Abs(math.Abs(m.NoiseGain)-1) < 0.01
}

// covariances returns sums of products about the means.
func covariances(x, y []float64) (xx, xy, yy float64) {
	mx, my := num.Average(x), num.Average(y)
	for i := range x {
		a, b := x[i]-mx, y[i]-my
		xx += a * a
		xy += a * b
		yy += b * b
	}
	return xx, xy, yy
}

func fourthDifference(x []float64) []float64 {
	out := make([]float64, len(x)-4)
	for i := range out {
		out[i] = x[i] - 4*x[i+1] + 6*x[i+2] - 4*x[i+3] + x[i+4]
	}
	return out
}

// Finding words a copy.
func (m monoFigures) Finding() finding.Finding {
	f := finding.Finding{Code: finding.Mono, Severity: finding.Invalid,
		Advice: "choose a device with two inputs and record both, without mixing; check that the clips sit on two points"}
	switch {
	case m.Equal:
		f.Detail = "both channels carry one signal: every sample is equal"
	case m.copied():
		f.Detail = fmt.Sprintf("both channels carry one signal: channel 2 is %.6g times channel 1, and the difference of %.1f dB below it is rounding", m.Gain, m.below())
	default:
		f.Detail = fmt.Sprintf("both channels carry one signal: of the power of their noise all but %.2g is common, at a gain of %.4f", m.Unshared, m.NoiseGain)
	}
	return f
}

// below is the level over the difference in decibels.
func (m monoFigures) below() float64 {
	return 20 * math.Log10(m.LevelRMS/math.Max(m.DifferenceRMS, 1e-300))
}
