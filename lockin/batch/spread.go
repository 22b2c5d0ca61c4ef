package batch

import (
	"math"
	"slices"
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

// farOut is how many robust standard deviations a part of the run is from the median
// before it counts as an outlier: hardly ever an honest part of a normal run
// (the modified z-score; Iglewicz and Hoaglin, How to Detect and Handle Outliers,
// 1993, have 3.5, which would call one part in forty such runs; from memory).
const farOut = 5.0

// SpreadOf takes the outliers out and then the measurement's share of the variance:
//
//	s² - mean(u²)
//
// by the moments of a sum of independent quantities. It is zero where the measurement
// alone explains the spread. excluded lists parts that are known not to belong, such
// as failed ones.
func SpreadOf(list []Measured, excluded ...int) Spread {
	s := Spread{Mean: math.NaN(), SD: math.NaN(), SDU: math.NaN(), TotalSD: math.NaN(), Share: math.NaN()}
	var values []float64
	for i, m := range list {
		if !slices.Contains(excluded, i) {
			values = append(values, m.Value)
		}
	}
	if len(values) == 0 {
		return s
	}
	middle, width := robust(values)
	noise, sum := 0.0, 0.0
	var kept []float64
	for i, m := range list {
		far := len(values) > 4 && width > 0 && math.Abs(m.Value-middle) > farOut*width
		if slices.Contains(excluded, i) || far {
			s.Outliers = append(s.Outliers, i)
			continue
		}
		kept = append(kept, m.Value)
		sum += m.Value
		noise += m.OwnU * m.OwnU
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

// robust is the median and the standard deviation that the median of the distances
// from it stands for in a normal run.
func robust(values []float64) (middle, width float64) {
	middle = median(values)
	var distances []float64
	for _, v := range values {
		distances = append(distances, math.Abs(v-middle))
	}
	return middle, 1.4826 * median(distances)
}

func median(values []float64) float64 {
	sorted := slices.Clone(values)
	slices.Sort(sorted)
	n := len(sorted)
	return (sorted[(n-1)/2] + sorted[n/2]) / 2
}
