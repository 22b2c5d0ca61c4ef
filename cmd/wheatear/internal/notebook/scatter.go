package notebook

import (
	"math"

	"gonum.org/v1/gonum/floats"
)

// slowest and fastest are how many waves the smallest and the largest set has that the
// scatter is looked at in.
const (
	slowest = 4
	fastest = 32
)

// scatter is the variance of readings about their line, in squares of their uncertainty,
// and its degrees of freedom; x are their times, r the residuals and w the weights, r
// multiplied by the root of w.
//
// A room that warms and cools moves neighbouring readings alike, and a slope feels slow
// waves most. So the residuals are taken apart into waves, the slowest first, orthogonal
// to the line and to each other. Were the scatter without memory, each would carry the
// same variance, and the mean of the first q would have q degrees of freedom. The set
// that leaves the widest interval counts: that of the 4 slowest, the 8, … or all. A wave
// that goes around once or more while readings last is covered by that; one that is
// slower is not told from a drift.
//
// Source: Müller and Watson, "Testing models of low-frequency variability", Econometrica
// 76 (2008), from memory, for sets of slow waves; the largest of several is ours.
func scatter(x, r, w []float64) (variance, freedom float64) {
	freedom = float64(len(x) - 2)
	variance = floats.Dot(r, r) / freedom
	widest := coverage(freedom) * math.Sqrt(variance)
	first, last := floats.Min(x), floats.Max(x)
	basis := make([][]float64, 0, fastest+2)
	add := func(of func(i int) float64) {
		v := make([]float64, len(x))
		for i := range v {
			v[i] = math.Sqrt(w[i]) * of(i)
		}
		size := floats.Norm(v, 2)
		for _, b := range basis {
			floats.AddScaled(v, -floats.Dot(b, v), b)
		}
		left := floats.Norm(v, 2)
		if !(left > 1e-6*size) { // nothing new where the times are few
			return
		}
		floats.Scale(1/left, v)
		basis = append(basis, v)
	}
	add(func(int) float64 { return 1 })
	add(func(i int) float64 { return x[i] })
	sum, next := 0.0, slowest
	for wave := 2; len(basis) < fastest+2 && len(basis) < len(x) && wave < 2*fastest; wave++ {
		before := len(basis)
		add(func(i int) float64 { return math.Cos(math.Pi * float64(wave) * (x[i] - first) / (last - first)) })
		if len(basis) == before {
			continue
		}
		along := floats.Dot(basis[before], r)
		sum += along * along
		if q := len(basis) - 2; q == next && q < len(x)-2 {
			next *= 2
			if half := coverage(float64(q)) * math.Sqrt(sum/float64(q)); half > widest {
				widest, variance, freedom = half, sum/float64(q), float64(q)
			}
		}
	}
	return variance, freedom
}
