package trouble

import (
	"math"
	"slices"

	"example.org/wheatear/lockin/internal/num"
)

// CoarseGrid returns the spacing of the coarsest grid on which all samples of a channel
// stand, whatever the file's format says; 0 for samples on none. Besides binary grids it
// knows those that a volume has scaled: few values, all apart by multiples of one step.
func CoarseGrid(x []float64) float64 {
	if len(x) == 0 || constant(x) {
		return 0
	}
	binary := SampleGrid(x)
	return math.Max(binary, scaledGrid(x, binary))
}

const (
	gridMost   = 4096 // more values are no coarse grid
	gridFewest = 6    // and fewer may be a tone of few phases
	gridRepeat = 8    // samples for each value
	gridLook   = 1 << 18
)

func scaledGrid(x []float64, fine float64) float64 {
	x = x[:min(len(x), gridLook)]
	seen := make(map[float64]bool)
	for _, v := range x {
		if seen[v] = true; len(seen) > gridMost {
			return 0
		}
	}
	if len(seen) < gridFewest || len(x) < gridRepeat*len(seen) {
		return 0
	}
	values := make([]float64, 0, len(seen))
	for v := range seen {
		values = append(values, v)
	}
	slices.Sort(values)
	least := math.Inf(1)
	for i := 1; i < len(values); i++ {
		least = math.Min(least, values[i]-values[i-1])
	}
	steps := 0.0
	for i := 1; i < len(values); i++ {
		steps += math.Round((values[i] - values[i-1]) / least)
	}
	step := (values[len(values)-1] - values[0]) / steps
	for i := 1; i < len(values); i++ {
		d := values[i] - values[i-1]
		if math.Abs(d-step*math.Round(d/step)) > 0.02*step+fine {
			return 0
		}
	}
	if step < 4*fine {
		return 0
	}
	return step
}

// RoundingBias bounds what rounding to steps of q does to the phasor of a tone of
// amplitude a among noise of rms sigma: the fundamental of the error of a sine on
// stairs, from the stationary points of its Fourier series,
//
//	(2q/π²)·√(q/a)·Σ k^(−3/2)·exp(−2(πkσ/q)²)
//
// It never exceeds the fundamental of a square wave of half a step. Noise of a third of a
// step takes it away; without noise it is the same in every record of one level.
func RoundingBias(q, a, sigma float64) float64 {
	if q == 0 {
		return 0
	}
	sum := 0.0
	for k := 1.0; k <= 40; k++ {
		sum += math.Pow(k, -1.5) * math.Exp(-2*num.Sq(math.Pi*k*sigma/q))
	}
	return math.Min(2*q/num.Sq(math.Pi)*math.Sqrt(q/math.Max(a, 1e-300))*sum, 2*q/math.Pi*math.Min(1, sum))
}
