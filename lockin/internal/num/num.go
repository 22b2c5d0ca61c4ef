// Package num has arithmetic on plain numbers that several rooms of the library share.
package num

import (
	"math"
	"slices"
	"sort"

	"example.org/wheatear/lockin/internal/order"
)

func Gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

func Lcm(a, b int) int { return a / Gcd(a, b) * b }

func MeanSquare(x []float64) float64 {
	s := 0.0
	for _, v := range x {
		s += v * v
	}
	return s / float64(max(1, len(x)))
}

func Average(x []float64) float64 {
	s := 0.0
	for _, v := range x {
		s += v
	}
	return s / float64(max(1, len(x)))
}

// MinMax returns the smallest and the largest of finite samples; +Inf and −Inf of none.
func MinMax(x []float64) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, v := range x { // comparisons, since math.Min takes three times as long
		if v < lo {
			lo = v
		}
		if v > hi {
			hi = v
		}
	}
	return lo, hi
}

// Quantile returns the value below which the fraction p of x lies; 0 for none.
func Quantile(x []float64, p float64) float64 {
	if len(x) == 0 {
		return 0
	}
	s := append([]float64(nil), x...)
	sort.Float64s(s)
	return s[min(len(s)-1, int(p*float64(len(s))))]
}

// RobustSpread returns a centre of x, the median of its shortest half, and a
// standard deviation from the median distance to it (1.4826 makes it right for
// Gaussian values). A third of foreign values, all on one side, hardly moves them.
func RobustSpread(x []float64) (centre, sigma float64) {
	if len(x) == 0 {
		return 0, 0
	}
	s := append([]float64(nil), x...)
	sort.Float64s(s)
	half, at := len(s)/2+1, 0
	for i := 0; i+half <= len(s); i++ {
		if s[i+half-1]-s[i] < s[at+half-1]-s[at] {
			at = i
		}
	}
	centre = s[at+half/2]
	for i, v := range s {
		s[i] = math.Abs(v - centre)
	}
	return centre, 1.4826 * Quantile(s, 0.5)
}

func Sq(x float64) float64 { return x * x }

func SetDefault(v *float64, to float64) {
	if *v == 0 {
		*v = to
	}
}

func SqAbs(z complex128) float64 { return real(z)*real(z) + imag(z)*imag(z) }

func Median(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	s := append([]float64(nil), x...)
	half := len(s) / 2
	middle := order.Kth(s, half)
	if len(s)%2 == 1 {
		return middle
	}
	return (slices.Max(s[:half]) + middle) / 2 // nothing before the middle is larger
}
