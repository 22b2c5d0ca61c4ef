package batch

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Measured is the value of one part.
type Measured struct {
	Value float64
	OwnU  float64 // standard uncertainty that it does not share with the others
}

// Spread is how the parts of a run differ from each other.
type Spread struct {
	N        int   // parts that count
	Outliers []int // indices of those that do not
	Mean     float64
	SD       float64 // of the parts themselves, the measurement's share taken out
	SDU      float64 // standard uncertainty of SD
	TotalSD  float64 // as measured
	Share    float64 // of the measurement in the variance
}

// chance that an honest normal run has any outlier by the test below.
const chance = 0.001

// SpreadOf takes the outliers out and then the measurement's share of the variance:
//
//	s² - mean(u²)
//
// by the moments of a sum of independent quantities. It is zero where the measurement
// alone explains the spread. excluded lists parts that are known not to belong, such
// as failed ones.
func SpreadOf(list []Measured, excluded ...int) Spread {
	s := Spread{Mean: math.NaN(), SD: math.NaN(), SDU: math.NaN(), TotalSD: math.NaN(), Share: math.NaN()}
	var left []int
	for i := range list {
		if slices.Contains(excluded, i) {
			s.Outliers = append(s.Outliers, i)
		} else {
			left = append(left, i)
		}
	}
	if len(left) == 0 {
		return s
	}
	left, far := extremes(list, left)
	s.Outliers = append(s.Outliers, far...)
	slices.Sort(s.Outliers)
	noise, sum := 0.0, 0.0
	var kept []float64
	for _, i := range left {
		kept = append(kept, list[i].Value)
		sum += list[i].Value
		noise += list[i].OwnU * list[i].OwnU
	}
	s.N = len(kept)
	s.Mean = sum / float64(s.N)
	if s.N < 2 {
		return s
	}
	square := 0.0
	for _, v := range kept {
		square += (v - s.Mean) * (v - s.Mean)
	}
	total := square / float64(s.N-1)
	noise /= float64(s.N)
	s.TotalSD = math.Sqrt(total)
	s.SD = math.Sqrt(math.Max(0, total-noise))
	if total > 0 {
		s.Share = math.Min(1, noise/total)
	}
	// The variance of a sample variance of normal values is 2σ⁴/(n-1).
	uVariance := total * math.Sqrt(2/float64(s.N-1))
	s.SDU = uVariance / 2 / math.Max(s.SD, math.Sqrt(uVariance)/2)
	return s
}

// extremes parts outliers from the rest, at most a fifth of the run: the part farthest
// from the mean is taken out again and again, and the last that is farther than
// normal parts are is an outlier with all those before it, so that none hides behind
// another.
//
// Source: Rosner, Technometrics 25 (1983) 165, the generalized extreme Studentized
// deviate (from memory).
func extremes(list []Measured, left []int) (rest, far []int) {
	rest = slices.Clone(left)
	n, outliers := len(left), 0
	var taken []int
	for i := 1; i <= n/5; i++ {
		k, r := farthest(list, rest)
		if k < 0 {
			break
		}
		size := float64(n - i + 1)
		t := distuv.StudentsT{Sigma: 1, Nu: size - 2}.Quantile(1 - chance/(2*size))
		limit := (size - 1) * t / math.Sqrt((size-2+t*t)*size)
		taken = append(taken, rest[k])
		rest = slices.Delete(rest, k, k+1)
		if r > limit {
			outliers = i
		}
	}
	far = taken[:outliers]
	rest = rest[:0]
	for _, i := range left {
		if !slices.Contains(far, i) {
			rest = append(rest, i)
		}
	}
	return rest, far
}

// farthest is the place in rest of the part farthest from the mean, in standard
// deviations; -1 where all are alike.
func farthest(list []Measured, rest []int) (place int, deviations float64) {
	var values []float64
	for _, i := range rest {
		values = append(values, list[i].Value)
	}
	mean, sd := stat.MeanStdDev(values, nil)
	place = -1
	for k, v := range values {
		if d := math.Abs(v-mean) / sd; d > deviations {
			place, deviations = k, d
		}
	}
	return place, deviations
}
