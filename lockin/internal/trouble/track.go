package trouble

import (
	"example.org/wheatear/lockin/internal/num"
	"math"
	"math/cmplx"
)

// toneTrack is one tone of one channel, followed in short blocks that overlap by
// half under a Hann window. Block k covers the frames from first+k·hop up to
// first+k·hop+2·hop; blocks k and k+2 share no sample.
type toneTrack struct {
	first, hop int
	turns      float64      // cycles per sample
	z          []complex128 // peak amplitude, phase against exp(j2π·turns·n), n = frame of the record
	noise      float64      // standard deviation of z from noise beside the tone, complex rms
	level      float64      // the amplitude that the tone holds, a high quantile of |z|
}

const (
	trackSeconds = 0.02 // length of a block where the tone is fast enough
	trackPeriods = 2    // and at least this many periods
	sideBin      = 3    // a Hann window has died away three bins from a tone
)

// trackLength returns an even number of samples: about 20 ms, but whole periods of
// the tone, two at least, and long enough to keep a neighbour spacingHz away
// (0: none) out of the window's main lobe.
func trackLength(rateHz, freqHz, spacingHz float64) int {
	least := trackSeconds
	if spacingHz > 0 {
		least = math.Max(least, 2*sideBin/spacingHz)
	}
	periods := math.Max(trackPeriods, math.Round(least*freqHz))
	return max(32, 2*int(math.Round(periods*rateHz/freqHz/2)))
}

// followTone demodulates x[first:end] in blocks of the given even length. It costs
// about twelve multiplications per sample.
func followTone(x []float64, turns float64, first, end, length int) toneTrack {
	t := toneTrack{first: first, hop: length / 2, turns: turns}
	tone := hannTable(turns, length)
	a, b := noiseBins(turns, length)
	above, below := hannTable(a, length), hannTable(b, length)
	var side []float64
	for at := first; at+length <= end; at += t.hop {
		block := x[at : at+length]
		z := tone.sum(block)
		t.z = append(t.z, z*cmplx.Conj(turnTo(turns, at)))
		side = append(side, num.SqAbs(above.sum(block)), num.SqAbs(below.sum(block)))
	}
	// The median of the power of Gaussian noise is ln 2 of its mean; breaks and
	// fades, which spoil a few blocks, do not move it.
	t.noise = math.Sqrt(num.Quantile(side, 0.5) / math.Ln2)
	t.level = num.Quantile(absAll(t.z), 0.75)
	return t
}

// add puts a steady tone, with the phase of frame 0, back into every block.
func (t *toneTrack) add(a complex128) {
	for i := range t.z {
		t.z[i] += a
	}
	t.level = num.Quantile(absAll(t.z), 0.75)
}

// turnHalf is turnTo at half of a number of frames.
func turnHalf(turns float64, twice int) complex128 {
	return turnTo(turns/2, twice)
}

// noiseBins returns two frequencies, in cycles per sample, where the noise beside a
// tone is taken: three bins above and below, or both on one side where the other
// would meet the tone's own image at 0 or at half the rate.
func noiseBins(turns float64, length int) (a, b float64) {
	bin := 1 / float64(length)
	switch {
	case turns < 2*sideBin*bin:
		return turns + sideBin*bin, turns + (sideBin+2)*bin
	case turns > 0.5-2*sideBin*bin:
		return turns - sideBin*bin, turns - (sideBin+2)*bin
	}
	return turns + sideBin*bin, turns - sideBin*bin
}

// frame returns where the blocks k and k+2 meet.
func (t toneTrack) frame(k int) int { return t.first + (k+2)*t.hop }

// on says in which blocks the tone stands above the given part of its level, and
// well above the noise.
func (t toneTrack) on(part float64) []bool {
	on, least := make([]bool, len(t.z)), math.Max(part*t.level, 6*t.noise)
	for k, z := range t.z {
		on[k] = cmplx.Abs(z) >= least
	}
	return on
}

// whole is like on, without the blocks at either end of the tone that lie partly
// outside it: there the level still rises or falls from block to block, and the
// phase of a block of few periods is wrong.
func (t toneTrack) whole(part float64) []bool {
	on := t.on(part)
	rising := func(k, next int) bool {
		return cmplx.Abs(t.z[k]) < 0.98*cmplx.Abs(t.z[next])-4*t.noise
	}
	n, out := len(on), append([]bool(nil), on...)
	for k := range on {
		fromStart := k+1 < n && on[k] && on[k+1] && (k == 0 || !on[k-1] || !out[k-1])
		if fromStart && rising(k, k+1) {
			out[k] = false
		}
	}
	for k := n - 1; k >= 0; k-- {
		fromEnd := k > 0 && out[k] && out[k-1] && (k == n-1 || !out[k+1])
		if fromEnd && rising(k, k-1) {
			out[k] = false
		}
	}
	return out
}

// clear says that the tone is strong enough for its phase to be followed.
func (t toneTrack) clear() bool { return len(t.z) >= 4 && t.level > 6*t.noise }

// hannWindow is a table of w[n]·exp(−j2π·turns·n), scaled to give peak amplitudes.
type hannWindow struct{ re, im []float64 }

func hannTable(turns float64, length int) hannWindow {
	h := hannWindow{make([]float64, length), make([]float64, length)}
	for n := range h.re {
		w := (1 - math.Cos(2*math.Pi*(float64(n)+0.5)/float64(length))) * 2 / float64(length)
		p := cmplx.Conj(turnTo(turns, n))
		h.re[n], h.im[n] = w*real(p), w*imag(p)
	}
	return h
}

func (h hannWindow) sum(x []float64) complex128 {
	var re, im float64
	for n, v := range x[:len(h.re)] {
		re += v * h.re[n]
		im += v * h.im[n]
	}
	return complex(re, im)
}

// turnTo returns exp(j2π·turns·n); whole turns are taken off first, which leaves
// 1e-9 rad after ten million samples.
func turnTo(turns float64, n int) complex128 {
	cycles := turns * float64(n)
	s, c := math.Sincos(2 * math.Pi * (cycles - math.Round(cycles)))
	return complex(c, s)
}

func absAll(z []complex128) []float64 {
	out := make([]float64, len(z))
	for i := range z {
		out[i] = cmplx.Abs(z[i])
	}
	return out
}
