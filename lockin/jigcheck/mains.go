package jigcheck

import (
	"math"
	"math/cmplx"
	"slices"

	"example.org/wheatear/lockin"
	"example.org/wheatear/lockin/spectrum"
)

const (
	mostOrders = 10
	mainsReach = 0.35 // Hz from the name of the mains
	// lineStands is how far a line stands above the noise in power. Against the mean of 16
	// bins beside it noise alone does so with a chance of (1 + 25/16)^-16, 3e-7, and some
	// 500 are looked at.
	lineStands = 25.
	sideBins   = 8 // on each side
)

// search looks for the mains through a Hann window.
type search struct {
	windowed [2][]float64
	rateHz   float64
	orders   []int
	floor    [2][]float64 // power of the noise at each order
}

func newSearch(data [2][]float64, rateHz, baseHz float64) *search {
	s := &search{rateHz: rateHz}
	for _, k := range []int{1, 2, 3, 5} {
		if float64(k)*(baseHz+mainsReach) < 0.45*rateHz {
			s.orders = append(s.orders, k)
		}
	}
	for ch := range data {
		s.windowed[ch] = hann(data[ch])
		for _, k := range s.orders {
			s.floor[ch] = append(s.floor[ch], floorAt(s.windowed[ch], float64(k)*baseHz, rateHz))
		}
	}
	return s
}

// hann puts a Hann window on samples, scaled so that a sum over them with exp(-jωt) is
// the amplitude of a tone: 2/N over the coherent gain of 1/2.
func hann(x []float64) []float64 {
	w := spectrum.Hann().Values(len(x))
	for i := range w {
		w[i] *= x[i] * 4 / float64(len(x))
	}
	return w
}

// sums are phasors; nil where there are none to be had.
func sums(windowed []float64, freqs []float64, rateHz float64) []complex128 {
	out, err := lockin.Correlate(nil, lockin.Planar(windowed), rateHz, freqs...)
	if err != nil {
		return make([]complex128, len(freqs))
	}
	return out
}

// floorAt is the power of noise near a frequency: the mean of bins on both sides, two
// steps apart so that the window leaves them independent, without the three highest,
// where another line may stand.
func floorAt(windowed []float64, freqHz, rateHz float64) float64 {
	step := rateHz / float64(len(windowed))
	var freqs []float64
	for k := range sideBins {
		side := float64(4+2*k) * step
		freqs = append(freqs, freqHz+side, freqHz-side)
	}
	var power []float64
	for _, v := range sums(windowed, freqs, rateHz) {
		power = append(power, sq(cmplx.Abs(v)))
	}
	slices.Sort(power)
	const left = 3
	// Order statistics of exponential variates: the i-th of n is Σ 1/j for j = n-i+1 … n.
	mean, expected, sum := 0.0, 0.0, 0.0
	n := len(power)
	for i := range n - left {
		expected += 1 / float64(n-i)
		sum += expected
		mean += power[i]
	}
	return math.Max(mean/sum, 1e-30)
}

// score is how far the lines of a mains stand above the noise, all together and the best.
func (s *search) score(mainsHz float64) (total, best float64) {
	var freqs []float64
	for _, k := range s.orders {
		freqs = append(freqs, float64(k)*mainsHz)
	}
	for ch := range s.windowed {
		for i, v := range sums(s.windowed[ch], freqs, s.rateHz) {
			r := sq(cmplx.Abs(v)) / s.floor[ch][i]
			total, best = total+r, math.Max(best, r)
		}
	}
	return total, best
}

// mains finds the exact frequency of the mains; 0 where no line stands out.
func mains(data [2][]float64, rateHz, statedHz float64) float64 {
	bases := []float64{50, 60}
	if statedHz > 0 {
		bases = []float64{statedHz}
	}
	top, at := 0.0, 0.0
	for _, base := range bases {
		s := newSearch(data, rateHz, base)
		if len(s.orders) == 0 {
			continue
		}
		hz, total, best := s.find(base, rateHz/float64(len(data[0])))
		if best > lineStands && total > top {
			top, at = total, hz
		}
	}
	return at
}

// find goes over the reach of the mains, first coarsely, then ever finer about the best.
func (s *search) find(baseHz, binHz float64) (hz, total, best float64) {
	low, high, step := baseHz-mainsReach, baseHz+mainsReach, binHz/8
	for range 4 {
		for f := low; f <= high+step/2; f += step {
			if t, b := s.score(f); t > total {
				hz, total, best = f, t, b
			}
		}
		if total == 0 {
			return 0, 0, 0
		}
		low, high, step = hz-step, hz+step, step/6
	}
	return hz, total, best
}

// takeLines takes the lines that stand out off x, sample by sample, and returns them.
func takeLines(x []float64, rateHz, mainsHz float64) []hum {
	windowed := hann(x)
	var lines []hum
	for k := 1; k <= mostOrders && float64(k)*mainsHz < 0.45*rateHz; k++ {
		f := float64(k) * mainsHz
		a := sums(windowed, []float64{f}, rateHz)[0]
		floor := floorAt(windowed, f, rateHz)
		if sq(cmplx.Abs(a)) < lineStands*floor {
			continue
		}
		// floor is the power of both axes of noise; the amplitude feels one of them.
		lines = append(lines, hum{k, cmplx.Abs(a), math.Sqrt(floor / 2)})
		for i := range x {
			sin, cos := math.Sincos(2 * math.Pi * math.Mod(f/rateHz*float64(i), 1))
			x[i] -= real(a)*cos - imag(a)*sin
		}
	}
	return lines
}
