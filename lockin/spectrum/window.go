// Package spectrum has windows with their noise bandwidth, averaged spectra and decibels.
package spectrum

import "example.org/wheatear/lockin/internal/phase"

// Window is a data window in its periodic form, which analysing whole cycles
// needs: w[n] = w(n/N) for n = 0 … N−1, so that w[N] would be w[0] again. (The
// symmetric form, with N−1, is that of filter design and of both libraries we
// use.) It comes from [Rectangular], [Hann], [BlackmanHarris] or [FlatTop]; the zero
// Window is rectangular.
//
//	w = Σ_k (−1)^k·a_k·cos(2πkn/N)
type Window struct {
	cosine []float64 // a_k; none for rectangular
}

// Rectangular leaves the data alone.
func Rectangular() Window { return Window{} }

// Hann is a raised cosine.
func Hann() Window { return Window{[]float64{0.5, 0.5}} }

// BlackmanHarris is the minimum four-term window, side lobes below −92 dB.
// Source: Harris, Proc. IEEE 66 (1978) 51.
func BlackmanHarris() Window { return Window{[]float64{0.35875, 0.48829, 0.14128, 0.01168}} }

// FlatTop is the five-term window of ISO 18431-2:2004: level within 0.009 dB over
// a bin, side lobes at −83.9 dB.
func FlatTop() Window { return Window{[]float64{1, 1.933, 1.286, 0.388, 0.0322}} }

// Values returns the window of length n; nil for n < 1 and, as a slip, for n > 2²⁷.
func (w Window) Values(n int) []float64 {
	if n < 1 || n > 1<<27 {
		return nil
	}
	values := make([]float64, n)
	for i := range values {
		if len(w.cosine) == 0 {
			values[i] = 1
		}
		sign := 1.0
		for k, a := range w.cosine {
			_, c := phase.GridTurns(uint64(k*i), uint64(n)).Sincos()
			values[i] += sign * a * c
			sign = -sign
		}
	}
	return values
}

// ENBWBins returns the equivalent noise bandwidth N·Σw²/(Σw)² in bins of 1/N:
// (a_0² + ½Σa_k²)/a_0² for a cosine window longer than twice its terms. The
// variance of a windowed estimate of amplitude or phase is so many times that of
// the best one. NaN for a length that Values refuses.
func (w Window) ENBWBins(n int) float64 {
	sum, squares := 0.0, 0.0
	for _, v := range w.Values(n) {
		sum += v
		squares += v * v
	}
	return float64(n) * squares / (sum * sum)
}
