//go:build portaudio && cgo && linux

package portaudio

import (
	"math"
	"math/cmplx"
)

// phasor is the complex amplitude of a tone in x, whose first sample is number
// first. x must hold a whole number of periods.
func phasor(x []float64, freqHz, rateHz float64, first int) complex128 {
	var sum complex128
	for i, v := range x {
		sum += complex(v, 0) * cmplx.Rect(1, -2*math.Pi*freqHz/rateHz*float64(first+i))
	}
	return sum * complex(2/float64(len(x)), 0)
}

// blocks cuts x in pieces of the given length and returns the tone in each.
func blocks(x []float64, freqHz, rateHz float64, length int) []complex128 {
	var out []complex128
	for k := 0; k+length <= len(x); k += length {
		out = append(out, phasor(x[k:k+length], freqHz, rateHz, k))
	}
	return out
}

// breaks counts the blocks that differ from the one before by more than a hundredth
// in level or 0.01 rad.
func breaks(tone []complex128) int {
	n := 0
	for i := 1; i < len(tone); i++ {
		ratio := tone[i] / tone[i-1]
		if math.Abs(cmplx.Abs(ratio)-1) > 0.01 || math.Abs(cmplx.Phase(ratio)) > 0.01 {
			n++
		}
	}
	return n
}

// residueDB is how far everything else lies below the tone, as amplitude.
func residueDB(x []float64, freqHz, rateHz float64) float64 {
	p := phasor(x, freqHz, rateHz, 0)
	var rest float64
	for i, v := range x {
		d := v - real(p*cmplx.Rect(1, 2*math.Pi*freqHz/rateHz*float64(i)))
		rest += d * d
	}
	rms := math.Sqrt(rest / float64(len(x)))
	return 20 * math.Log10(rms/(cmplx.Abs(p)/math.Sqrt2))
}

// zeros is the length of the longest run of exact zeros in x from first on.
func zeros(x []float64, first int) int {
	longest, n := 0, 0
	for _, v := range x[first:] {
		if v != 0 {
			n = 0
			continue
		}
		n++
		longest = max(longest, n)
	}
	return longest
}
