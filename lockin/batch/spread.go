package batch

import (
	"math"
	"slices"

	"example.org/wheatear/lockin/parts"
)

// Measured is the value of one part. NaN is one that was not read.
type Measured struct {
	Value float64
	OwnU  float64 // standard uncertainty that it does not share with the others
}

// Spread is how the parts of a run differ from each other.
type Spread struct {
	N        int    // parts that count
	Outliers []int  // indices of those that do not
	Rules    []Rule // why, for each of them
	Mean     float64
	SD       float64 // of the parts themselves, the measurement's share taken out
	SDU      float64 // standard uncertainty of SD
	TotalSD  float64 // as measured
	Share    float64 // of the measurement in the variance
}

// SpreadOf leaves out what does not belong to the run (see [Rule]) and takes the
// measurement's share out of the variance of the rest: it finds τ with which
//
//	Σ (x - m)²/(τ² + u²) = n - 1,  m = Σ x/(τ² + u²) / Σ 1/(τ² + u²)
//
// so that a part that is known badly counts for less. With equal u that is s² - u². The
// spread is zero where the measurement alone explains what is seen. What belongs to one
// part only enters Share and the figures with its u, so that u must not hold what all
// readings share, such as the tolerance of a reference.
//
// limits are the tolerance of the parts; the zero value is none. Figures of no parts
// are NaN, and so is the spread of a single one.
//
// Source: Paule and Mandel, J. Res. NBS 87 (1982) 377 (from memory). The uncertainty is
// that of a sum of squares, Var Q = 2(n-1), carried to τ.
func SpreadOf(list []Measured, limits parts.Limits) Spread {
	nan := math.NaN()
	s := Spread{Mean: nan, SD: nan, SDU: nan, TotalSD: nan, Share: nan}
	var kept []int
	kept, s.Outliers, s.Rules = belonging(list, limits)
	s.N = len(kept)
	if s.N == 0 {
		return s
	}
	run := pick(list, kept)
	s.Mean, s.TotalSD = plainMoments(run)
	if s.N < 2 {
		s.TotalSD = nan
		return s
	}
	s.between(run)
	return s
}

// between settles mean and spread of parts that belong.
func (s *Spread) between(run []Measured) {
	total := s.TotalSD * s.TotalSD
	tau2 := 0.0
	if q, _, _ := quotient(run, 0); total > 0 && q > float64(s.N-1) {
		tau2 = bisect(run, total)
	}
	_, mean, weights := quotient(run, tau2)
	if !math.IsNaN(mean) {
		s.Mean = mean
	}
	s.SD = math.Sqrt(tau2)
	if total > 0 {
		s.Share = math.Max(0, math.Min(1, 1-tau2/total))
	}
	// dQ/dτ² is -Σw(n-1)/n where the readings follow the model.
	n := float64(s.N)
	uTau2 := total * math.Sqrt(2/(n-1)) // as long as all is spread
	if weights > 0 && !math.IsInf(weights, 0) {
		uTau2 = math.Sqrt(2/(n-1)) * n / weights
	}
	s.SDU = uTau2 / 2 / math.Max(s.SD, math.Sqrt(uTau2)/2)
}

// quotient is Σ w(x - m)², with the weighted mean m and the sum of the weights
// w = 1/(τ² + u²). Without any uncertainty it is infinite.
func quotient(run []Measured, tau2 float64) (q, mean, weights float64) {
	sum := 0.0
	for _, p := range run {
		w := 1 / (tau2 + p.OwnU*p.OwnU)
		weights += w
		sum += w * p.Value
	}
	mean = sum / weights
	for _, p := range run {
		q += (p.Value - mean) * (p.Value - mean) / (tau2 + p.OwnU*p.OwnU)
	}
	if math.IsNaN(q) {
		q = math.Inf(1)
	}
	return q, mean, weights
}

// bisect finds τ², above which the quotient is less than n-1. It is no more than the
// sum of squares over n-1, which is what all are worth without any u.
func bisect(run []Measured, total float64) float64 {
	const halvings = 60 // down to the last digit
	want := float64(len(run) - 1)
	low, high := 0.0, total
	for range halvings {
		middle := (low + high) / 2
		if q, _, _ := quotient(run, middle); q > want {
			low = middle
		} else {
			high = middle
		}
	}
	return (low + high) / 2
}

// plainMoments are mean and standard deviation, the latter 0 of a single part.
func plainMoments(run []Measured) (mean, sd float64) {
	for _, p := range run {
		mean += p.Value / float64(len(run))
	}
	for _, p := range run {
		sd += (p.Value - mean) * (p.Value - mean)
	}
	return mean, math.Sqrt(sd / math.Max(1, float64(len(run)-1)))
}

func pick(list []Measured, indices []int) []Measured {
	out := make([]Measured, len(indices))
	for i, k := range indices {
		out[i] = list[k]
	}
	return out
}

// without is the indices that are not among the others.
func without(indices, others []int) []int {
	drop := make(map[int]bool, len(others))
	for _, i := range others {
		drop[i] = true
	}
	return slices.DeleteFunc(slices.Clone(indices), func(i int) bool { return drop[i] })
}
