package drawnjig

import (
	"math"
	"math/rand/v2"
)

// Steer lets the rate of a stream jump by up to ppm either way every so many seconds,
// as a system does that keeps two clocks together; the sum of the jumps is held.
func Steer(everyS, ppm float64) Spoil {
	return func(x [][]float64, rateHz float64, rng *rand.Rand) [][]float64 {
		at := make([]float64, len(x[0]))
		every := max(1, int(everyS*rateHz))
		now, rate := 0.0, 0.0
		for i := range at {
			if i%every == 0 {
				rate = ppm * 1e-6 * (2*rng.Float64() - 1)
				if off := now - float64(i); math.Abs(off) > 50*ppm*1e-6*float64(every) {
					rate = -math.Copysign(rate, off)
				}
			}
			at[i] = now
			now += 1 + rate
		}
		return warp(x, at, sharpTaps)
	}
}

// Convert brings samples of one rate to another and takes a stream of the first for
// one of the second; taps is how many samples of the old rate each new one is made of,
// 2 for a straight line. Rates are in hertz.
func Convert(from, to float64, taps int) Spoil {
	return func(x [][]float64, _ float64, _ *rand.Rand) [][]float64 {
		at := make([]float64, int(float64(len(x[0]))*to/from))
		for i := range at {
			at[i] = float64(i) * from / to
		}
		return warp(x, at, taps)
	}
}

const sharpTaps = 64

// warp reads every input at fractional frames, by a windowed sinc.
func warp(x [][]float64, at []float64, taps int) [][]float64 {
	out := make([][]float64, len(x))
	half := taps / 2
	weight := make([]float64, taps)
	for ch := range out {
		out[ch] = make([]float64, len(at))
	}
	for i, t := range at {
		base := int(math.Floor(t))
		frac := t - float64(base)
		interpolator(weight, frac)
		for ch := range x {
			sum := 0.0
			for k, w := range weight {
				if n := base + k - half + 1; n >= 0 && n < len(x[ch]) {
					sum += w * x[ch][n]
				}
			}
			out[ch][i] = sum
		}
	}
	return out
}

// interpolator fills the weights of the samples around a place frac after one.
func interpolator(weight []float64, frac float64) {
	half := len(weight) / 2
	if half == 1 {
		weight[0], weight[1] = 1-frac, frac
		return
	}
	sin := math.Sin(math.Pi * frac)
	for k := range weight {
		d := frac - float64(k-half+1) // from the sample to the place
		switch {
		case math.Abs(d) < 1e-12:
			weight[k] = 1
		default:
			s := sin
			if (k-half+1)%2 != 0 {
				s = -s
			}
			weight[k] = s / (math.Pi * d) * taper(d/float64(half))
		}
	}
}

// taper is a window of Blackman's kind with four terms, 92 dB (F. Harris, Proc. IEEE
// 66 (1978) 51, table 1; coefficients from memory), u from −1 to 1.
func taper(u float64) float64 {
	c := math.Cos(math.Pi * u)
	c2, c3 := 2*c*c-1, (4*c*c-3)*c
	return 0.35875 + 0.48829*c + 0.14128*c2 + 0.01168*c3
}
