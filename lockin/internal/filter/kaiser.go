package filter

import "math"

// kaiser returns the taps of a linear-phase low-pass, in turns per frame, whose
// ripple in the passband and beyond stop is attenuationDB. Sum 1. Sources of the
// window, its β and the length: J. F. Kaiser, Nonrecursive digital filter design using
// the I0-sinh window function, Proc. IEEE ISCAS (1974) 20–23.
func kaiser(pass, stop, attenuationDB float64) []float64 {
	n := kaiserLength(pass, stop, attenuationDB)
	beta := kaiserBeta(attenuationDB)
	taps := make([]float64, n)
	middle := float64(n-1) / 2
	sum := 0.0
	for i := range taps {
		t := float64(i) - middle
		u := 0.0
		if n > 1 {
			u = t / middle
		}
		taps[i] = sinc((pass+stop)*t) * besselI0(beta*math.Sqrt(math.Max(0, 1-u*u)))
		sum += taps[i]
	}
	for i := range taps {
		taps[i] /= sum
	}
	return taps
}

// kaiserLength returns the number of taps that a transition needs.
func kaiserLength(pass, stop, attenuationDB float64) int {
	n := math.Ceil((attenuationDB-7.95)/(2.285*2*math.Pi*(stop-pass))) + 1
	return int(math.Max(1, math.Min(n, 1<<40)))
}

func kaiserBeta(attenuationDB float64) float64 {
	switch a := attenuationDB; {
	case a > 50:
		return 0.1102 * (a - 8.7)
	case a > 21:
		return 0.5842*math.Pow(a-21, 0.4) + 0.07886*(a-21)
	}
	return 0
}

func sinc(x float64) float64 {
	if x == 0 {
		return 1
	}
	return math.Sin(math.Pi*x) / (math.Pi * x)
}

// besselI0 sums the power series, whose terms are all positive.
func besselI0(x float64) float64 {
	sum, term := 1.0, 1.0
	for k := 1.0; term > 1e-17*sum; k++ {
		term *= x * x / (4 * k * k)
		sum += term
	}
	return sum
}
