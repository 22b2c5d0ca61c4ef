package record

import (
	"math"
	"math/cmplx"

	"example.org/wheatear/lockin/internal/num"
	"gonum.org/v1/gonum/dsp/fourier"
)

// smoothLength returns the largest n' <= n whose only prime factors are 2, 3 and 5,
// where the transform is quick. It gives away less than 2 % for n > 1000.
func smoothLength(n int) int {
	best := 1
	for a := 1; a <= n; a *= 2 {
		for b := a; b <= n; b *= 3 {
			for c := b; c <= n; c *= 5 {
				best = max(best, c)
			}
		}
	}
	return best
}

// bins holds the discrete spectrum of a stretch, one slice per channel, scaled so
// that a sinusoid on a bin gives its complex amplitude.
type bins struct {
	stepHz float64 // distance of the bins
	x      [][]complex128
}

// transforms keeps the tables of transforms, of which an analysis makes several of one
// length.
type transforms map[int]*fourier.FFT

func (t transforms) of(n int) *fourier.FFT {
	if t[n] == nil {
		t[n] = fourier.NewFFT(n)
	}
	return t[n]
}

// newBins transforms the first smoothLength samples of each channel.
func newBins(x [][]float64, rateHz float64, tables transforms) bins {
	n := smoothLength(len(x[0]))
	fft := tables.of(n)
	out := bins{stepHz: rateHz / float64(n)}
	for _, ch := range x {
		c := fft.Coefficients(nil, ch[:n])
		for i := range c {
			c[i] *= complex(2/float64(n), 0)
		}
		out.x = append(out.x, c)
	}
	return out
}

// tapered returns the spectrum as under a periodic Hann window, with the scale of
// amplitudes kept: each bin less half of its two neighbours.
func (b bins) tapered() bins {
	out := bins{stepHz: b.stepHz}
	for _, x := range b.x {
		y := make([]complex128, len(x))
		for k := 1; k < len(x)-1; k++ {
			y[k] = x[k] - (x[k-1]+x[k+1])/2
		}
		out.x = append(out.x, y)
	}
	return out
}

// power returns the summed squared magnitude of bin k over the channels.
func (b bins) power(k int) float64 {
	p := 0.0
	for _, ch := range b.x {
		p += num.SqAbs(ch[k])
	}
	return p
}

func (b bins) len() int { return len(b.x[0]) }

// peakNear returns the frequency and summed power of the largest local maximum
// between loHz and hiHz, refined by the ratio of the two highest bins of a Hann
// window; ok is false where there is no local maximum.
func (b bins) peakNear(loHz, hiHz float64) (freqHz, power float64, ok bool) {
	lo := max(1, int(math.Floor(loHz/b.stepHz)))
	hi := min(b.len()-2, int(math.Ceil(hiHz/b.stepHz)))
	best := -1
	for k := lo; k <= hi; k++ {
		p := b.power(k)
		if p >= b.power(k-1) && p >= b.power(k+1) && (best < 0 || p > b.power(best)) {
			best = k
		}
	}
	if best < 0 || b.power(best) == 0 {
		return 0, 0, false
	}
	return b.refine(best), b.power(best), true
}

// refine interpolates the frequency of a maximum at bin k (Hann window).
func (b bins) refine(k int) float64 {
	left, mid, right := math.Sqrt(b.power(k-1)), math.Sqrt(b.power(k)), math.Sqrt(b.power(k+1))
	side, sign := right, 1.0
	if left > right {
		side, sign = left, -1
	}
	r := side / mid
	return (float64(k) + sign*(2*r-1)/(r+1)) * b.stepHz
}

// floor returns the median of the summed power of the bins from loHz to hiHz, scaled
// to the mean that white noise of that median has.
func (b bins) floor(loHz, hiHz float64) float64 {
	lo := max(1, int(loHz/b.stepHz))
	hi := min(b.len()-2, int(hiHz/b.stepHz))
	if hi < lo {
		return 0
	}
	p := make([]float64, 0, hi-lo+1)
	for k := lo; k <= hi; k++ {
		p = append(p, b.power(k))
	}
	return num.Median(p) / 0.75 // a sum of one or two exponential variates: 0.69 to 0.84
}

// sideNoise estimates the noise of the phasors at freqHz from m bins of the
// residual on both sides of it, leaving out bins within one step of any frequency
// in avoidHz. It returns the Hermitian matrix of products, E[e_i conj(e_j)], where
// e is the error of a lone tone's complex amplitude, and the number of bins used.
func (b bins) sideNoise(freqHz float64, avoidHz []float64, m int) (s [][]complex128, used int) {
	centre := freqHz / b.stepHz
	s = make([][]complex128, len(b.x))
	for i := range s {
		s[i] = make([]complex128, len(b.x))
	}
	take := func(k int) bool {
		if k < 2 || k >= b.len()-1 || math.Abs(float64(k)-centre) < 0.75 {
			return false
		}
		for _, a := range avoidHz {
			if math.Abs(float64(k)-a/b.stepHz) < 1 {
				return false
			}
		}
		for i := range b.x {
			for j := range b.x {
				s[i][j] += b.x[i][k] * cmplx.Conj(b.x[j][k])
			}
		}
		return true
	}
	base := int(math.Round(centre))
	for d := 0; d <= 6*m && used < m; d++ {
		if take(base + d) {
			used++
		}
		if d > 0 && used < m && take(base-d) {
			used++
		}
	}
	for i := range s {
		for j := range s[i] {
			s[i][j] /= complex(float64(max(used, 1)), 0)
		}
	}
	return s, used
}
