// Package spectrum has windows with their figures, averaged spectra and decibels.
package spectrum

import (
	"math"
	"math/cmplx"

	"example.org/wheatear/lockin/internal/phase"
	"gonum.org/v1/gonum/dsp/fourier"
)

// Window is a data window in its periodic form, which analysing whole cycles
// needs: w[n] = w(n/N) for n = 0 … N−1, so that w[N] would be w[0] again. (The
// symmetric form, with N−1, is that of filter design and of both libraries we
// use.)
//
// Cosine windows are w = Σ_k (−1)^k·a_k·cos(2πkn/N); Kaiser windows are
// w = I₀(β√(1−(2n/N−1)²))/I₀(β).
type Window struct {
	name   string
	cosine []float64 // a_k; empty for Kaiser
	beta   float64   // Kaiser only
}

// CosineWindow returns a window of the given coefficients a_0, a_1, …
func CosineWindow(name string, a ...float64) Window {
	return Window{name: name, cosine: append([]float64(nil), a...)}
}

// KaiserWindow returns a Kaiser window. β = πα for the α of Harris (1978). β must
// be between 0 and 500; beyond, it is cut off there.
func KaiserWindow(name string, beta float64) Window {
	return Window{name: name, beta: math.Min(math.Max(beta, 0), 500)}
}

// Rectangular leaves the data alone.
func Rectangular() Window { return CosineWindow("rectangular", 1) }

// Hann is a raised cosine.
func Hann() Window { return CosineWindow("hann", 0.5, 0.5) }

// BlackmanHarris is the minimum four-term window, side lobes below −92 dB.
func BlackmanHarris() Window {
	return CosineWindow("blackman-harris-4term-92dB", 0.35875, 0.48829, 0.14128, 0.01168)
}

// FlatTop is the five-term window of ISO 18431-2:2004: level within 0.009 dB over
// a bin, side lobes at −83.9 dB.
//
// Public code has two coefficient sets under that name. This one is
// (1, 1.933, 1.286, 0.388, 0.0322). The other, (0.21557895, 0.41663158,
// 0.277263158, 0.083578947, 0.006947368), is [FlatTopLow].
func FlatTop() Window { return CosineWindow("flattop-iso18431-2", 1, 1.933, 1.286, 0.388, 0.0322) }

// FlatTopLow is the five-term window of D'Antona and Ferrero, Digital Signal
// Processing for Measurement Systems (2006): side lobes at −93.0 dB, noise
// bandwidth lower than that of [FlatTop] by 2e-4.
func FlatTopLow() Window {
	return CosineWindow("flattop-5term-sum-normalised", 0.21557895, 0.41663158, 0.277263158, 0.083578947, 0.006947368)
}

// Windows returns every window known by name. Coefficients: Harris, Proc. IEEE 66
// (1978) 51, tables I and text; Nuttall, IEEE Trans. ASSP 29 (1981) 84 (the sets
// 0.355768… and 0.3635819… as in library documentation, the others from memory);
// for the flat tops see [FlatTop] and [FlatTopLow].
func Windows() []Window {
	return []Window{
		Rectangular(), Hann(), BlackmanHarris(), FlatTop(), FlatTopLow(),
		CosineWindow("hamming", 0.54, 0.46),
		CosineWindow("blackman", 0.42, 0.5, 0.08),
		CosineWindow("blackman-exact", 7938.0/18608, 9240.0/18608, 1430.0/18608),
		CosineWindow("blackman-harris-3term-67dB", 0.42323, 0.49755, 0.07922),
		CosineWindow("blackman-harris-3term-61dB", 0.44959, 0.49364, 0.05677),
		CosineWindow("blackman-harris-4term-74dB", 0.40217, 0.49703, 0.09892, 0.00188),
		CosineWindow("nuttall-4term-98dB", 0.3635819, 0.4891775, 0.1365995, 0.0106411),
		CosineWindow("nuttall-4term-93dB-cont1", 0.355768, 0.487396, 0.144232, 0.012604),
		CosineWindow("nuttall-4term-83dB-cont3", 0.338946, 0.481973, 0.161054, 0.018027),
		CosineWindow("nuttall-4term-61dB-cont5", 0.3125, 0.46875, 0.1875, 0.03125),
		CosineWindow("nuttall-3term-46dB-cont5", 0.375, 0.5, 0.125),
		CosineWindow("nuttall-3term-64dB-cont1", 0.40897, 0.5, 0.09103),
		CosineWindow("nuttall-3term-71dB-min", 0.4243801, 0.4973406, 0.0782793),
		KaiserWindow("kaiser-a2.0", 2*math.Pi), KaiserWindow("kaiser-a2.5", 2.5*math.Pi),
		KaiserWindow("kaiser-a3.0", 3*math.Pi), KaiserWindow("kaiser-a3.5", 3.5*math.Pi),
		KaiserWindow("kaiser-b5", 5), KaiserWindow("kaiser-b6", 6),
		KaiserWindow("kaiser-b8.6", 8.6), KaiserWindow("kaiser-b14", 14),
	}
}

// Name returns the window's name.
func (w Window) Name() string { return w.name }

// Fill sets dst to the window of length len(dst) and returns it.
func (w Window) Fill(dst []float64) []float64 {
	n := float64(len(dst))
	if len(w.cosine) == 0 {
		full := besselI0(w.beta)
		for i := range dst {
			u := 2*float64(i)/n - 1
			dst[i] = besselI0(w.beta*math.Sqrt(math.Max(0, 1-u*u))) / full
		}
		return dst
	}
	for i := range dst {
		sum, sign := 0.0, 1.0
		for k, a := range w.cosine {
			_, c := phase.GridTurns(uint64(k*i), uint64(len(dst))).Sincos()
			sum += sign * a * c
			sign = -sign
		}
		dst[i] = sum
	}
	return dst
}

// Values returns the window of length n, nil for n < 1.
func (w Window) Values(n int) []float64 {
	if n < 1 {
		return nil
	}
	return w.Fill(make([]float64, n))
}

// besselI0 is the modified Bessel function of order zero, by its power series
// Σ ((x/2)^k/k!)², which has positive terms only and loses nothing.
func besselI0(x float64) float64 {
	sum, term := 1.0, 1.0
	for k := 1.0; term > sum*1e-17; k++ {
		f := x / (2 * k)
		term *= f * f
		sum += term
	}
	return sum
}

// CoherentGain returns Σw/N, what the window makes of a steady level: a_0 for a
// cosine window longer than its terms.
func (w Window) CoherentGain(n int) float64 {
	sum := 0.0
	for _, v := range w.Values(n) {
		sum += v
	}
	return sum / float64(n)
}

// ENBWBins returns the equivalent noise bandwidth N·Σw²/(Σw)² in bins of 1/N:
// (a_0² + ½Σa_k²)/a_0² for a cosine window longer than twice its terms. The
// variance of a windowed estimate of amplitude or phase is so many times that of
// the best one.
func (w Window) ENBWBins(n int) float64 {
	sum, squares := 0.0, 0.0
	for _, v := range w.Values(n) {
		sum += v
		squares += v * v
	}
	return float64(n) * squares / (sum * sum)
}

// ScallopDB returns the loss of amplitude, in decibels, of a tone half way between
// two bins.
func (w Window) ScallopDB(n int) float64 {
	values := w.Values(n)
	return -20 * math.Log10(windowResponse(values, 0.5)/windowResponse(values, 0))
}

// windowResponse returns |Σ w[n]·exp(−j2πn·bin/N)|.
func windowResponse(w []float64, bin float64) float64 {
	sum := complex128(0)
	for i, v := range w {
		sum += cmplx.Rect(v, -2*math.Pi*bin*float64(i)/float64(len(w)))
	}
	return cmplx.Abs(sum)
}

// SideLobeDB returns the height of the highest side lobe above (below, that is)
// the main lobe, in decibels of amplitude, and the bin it is at. n is at least 32.
func (w Window) SideLobeDB(n int) (heightDB, atBin float64) {
	const fine = 32 // points per bin
	values := w.Values(n)
	padded := append(values, make([]float64, (fine-1)*n)...)
	spectrum := fourier.NewFFT(fine*n).Coefficients(nil, padded)
	best := mainLobeEnd(spectrum)
	for i := best; i < len(spectrum); i++ {
		if cmplx.Abs(spectrum[i]) > cmplx.Abs(spectrum[best]) {
			best = i
		}
	}
	atBin = goldenMaximum(float64(best-1)/fine, float64(best+1)/fine, func(b float64) float64 { return windowResponse(values[:n], b) })
	return 20 * math.Log10(windowResponse(values[:n], atBin)/windowResponse(values[:n], 0)), atBin
}

// mainLobeEnd returns the index of the first minimum once the response is below
// half (the top of a flat top has minima of its own).
func mainLobeEnd(spectrum []complex128) int {
	i := 0
	for i < len(spectrum)-1 && cmplx.Abs(spectrum[i]) > cmplx.Abs(spectrum[0])/2 {
		i++
	}
	for i < len(spectrum)-1 && cmplx.Abs(spectrum[i+1]) < cmplx.Abs(spectrum[i]) {
		i++
	}
	return i
}

// goldenMaximum finds the maximum of a function with one hump between low and
// high, to 1e-7 of their distance or so.
func goldenMaximum(low, high float64, f func(float64) float64) float64 {
	ratio := (math.Sqrt(5) - 1) / 2
	a, b := high-ratio*(high-low), low+ratio*(high-low)
	fa, fb := f(a), f(b)
	for range 34 {
		if fa > fb {
			high, b, fb = b, a, fa
			a = high - ratio*(high-low)
			fa = f(a)
		} else {
			low, a, fa = a, b, fb
			b = low + ratio*(high-low)
			fb = f(b)
		}
	}
	return (low + high) / 2
}
