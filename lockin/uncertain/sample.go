package uncertain

import (
	"math"
	"slices"
	"sync"

	"gonum.org/v1/gonum/stat"
)

// Sample holds the outputs of a Monte Carlo run. Safe for concurrent use.
//
// A trial for which the model gave NaN makes mean, u and intervals of that
// output NaN; infinite outputs are sorted with the others, so that an interval
// may reach to infinity.
type Sample struct {
	columns [][]float64
	sorted  []func() []float64 // made when first asked for
}

func newSample(outputs, trials int) *Sample {
	s := &Sample{columns: make([][]float64, outputs), sorted: make([]func() []float64, outputs)}
	for i := range outputs {
		column := make([]float64, trials)
		s.columns[i] = column
		s.sorted[i] = sync.OnceValue(func() []float64 {
			sorted := slices.Clone(column)
			slices.Sort(sorted)
			return sorted
		})
	}
	return s
}

// Trials returns the number of trials.
func (s *Sample) Trials() int { return len(s.Column(0)) }

// Column returns output i of every trial, in the order drawn; nil where there is no such
// output, of which all figures are NaN. It is the sample's own memory: read it, do not
// change it.
func (s *Sample) Column(i int) []float64 {
	if i < 0 || i >= len(s.columns) {
		return nil
	}
	return s.columns[i]
}

// rising returns output i in rising order; a NaN where there is no such output.
func (s *Sample) rising(i int) []float64 {
	if s.Column(i) == nil {
		return []float64{math.NaN()}
	}
	return s.sorted[i]()
}

// Mean returns the mean of output i. Reference: JCGM 101:2008, 7.6.
func (s *Sample) Mean(i int) float64 { return stat.Mean(s.Column(i), nil) }

// U returns the standard deviation of output i, its standard uncertainty.
// Reference: JCGM 101:2008, 7.6.
func (s *Sample) U(i int) float64 { return stat.StdDev(s.Column(i), nil) }

// Correlation returns the correlation coefficient of two outputs.
func (s *Sample) Correlation(i, j int) float64 {
	if s.Column(i) == nil || s.Column(j) == nil {
		return math.NaN()
	}
	return stat.Correlation(s.columns[i], s.columns[j], nil)
}

// Quantile returns the value that a fraction q of the trials of output i do not
// exceed.
func (s *Sample) Quantile(i int, q float64) float64 {
	sorted := s.rising(i)
	if !(q >= 0 && q <= 1) || math.IsNaN(sorted[0]) {
		return math.NaN()
	}
	r := int(math.Ceil(q*float64(len(sorted)))) - 1
	return sorted[max(r, 0)]
}

// Interval returns the probabilistically symmetric interval of output i with
// coverage p: as many trials below it as above it.
//
//	[y_(r), y_(r+q)],  q = pM,  r = (M−q)/2
//
// NaN where p is not between 0 and 1. Reference: JCGM 101:2008, 7.7.2.
func (s *Sample) Interval(i int, p float64) (low, high float64) {
	sorted := s.rising(i)
	q, ok := covered(sorted, p)
	if !ok {
		return math.NaN(), math.NaN()
	}
	r := (len(sorted) - q) / 2
	return sorted[max(r-1, 0)], sorted[max(r-1, 0)+q]
}

// Shortest returns the shortest interval of output i that holds the fraction p
// of the trials. Reference: JCGM 101:2008, 7.7.4.
func (s *Sample) Shortest(i int, p float64) (low, high float64) {
	sorted := s.rising(i)
	q, ok := covered(sorted, p)
	if !ok {
		return math.NaN(), math.NaN()
	}
	best, width := 0, math.Inf(1)
	for r := 0; r+q < len(sorted); r++ {
		if w := sorted[r+q] - sorted[r]; w < width {
			best, width = r, w
		}
	}
	return sorted[best], sorted[best+q]
}

// covered returns q, the number of steps between the ends of an interval that
// holds the fraction p.
func covered(sorted []float64, p float64) (q int, ok bool) {
	if !(p > 0 && p < 1) || math.IsNaN(sorted[0]) {
		return 0, false
	}
	q = int(math.Floor(p*float64(len(sorted)) + 0.5))
	return min(max(q, 1), len(sorted)-1), true
}

// Quantity returns output i with mean, standard deviation and the symmetric
// 95 % interval.
func (s *Sample) Quantity(i int) Quantity {
	low, high := s.Interval(i, 0.95)
	return Quantity{Value: s.Mean(i), U: s.U(i), Low: low, High: high}
}
