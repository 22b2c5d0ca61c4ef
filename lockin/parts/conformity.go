package parts

import "math"

// Limits are the tolerance limits of a quantity, in its unit. An infinite one is
// none; both NaN mean that nothing is known.
type Limits struct{ Low, High float64 }

// AtMost returns limits with an upper one alone, as for D ≤ 0.02.
func AtMost(high float64) Limits { return Limits{math.Inf(-1), high} }

// AtLeast returns limits with a lower one alone, as for Q ≥ 40.
func AtLeast(low float64) Limits { return Limits{low, math.Inf(1)} }

// Valid reports whether the lower limit lies below the upper and there is one at
// all.
func (l Limits) Valid() bool {
	return l.Low < l.High && !(math.IsInf(l.Low, -1) && math.IsInf(l.High, 1))
}

// Contain reports whether a value lies within the limits, or on one.
func (l Limits) Contain(x float64) bool { return x >= l.Low && x <= l.High }

// twoSided reports whether both limits exist.
func (l Limits) twoSided() bool { return !math.IsInf(l.Low, 0) && !math.IsInf(l.High, 0) }

// inward moves both limits inward by g, outward where g is negative.
func (l Limits) inward(g float64) Limits { return Limits{l.Low + g, l.High - g} }

// ConformanceProbability returns the probability that a quantity lies within
// limits.
//
//	p = Φ((T_U − y)/u) − Φ((T_L − y)/u)      for a normal one
//
// 1 − p is the specific consumer's risk of accepting it, p the specific producer's
// risk of rejecting it. The difference is taken between the smaller tails, so that
// small probabilities keep their digits. Of a sample it is never less than Least.
// NaN of no distribution. Reference: JCGM 106:2012, 7.2 to 7.4.
func ConformanceProbability(d Distribution, l Limits) float64 {
	if absent(d) {
		return math.NaN()
	}
	p := between(d, l)
	if s, ok := d.(*Draws); ok {
		return math.Max(p, s.least())
	}
	return p
}

// absent reports whether nothing is known of a quantity.
func absent(d Distribution) bool {
	s, isDraws := d.(*Draws)
	return d == nil || isDraws && (s == nil || len(s.sorted) == 0)
}

func between(d Distribution, l Limits) float64 {
	low, high := d.Below(l.Low), d.Below(l.High)
	switch {
	case high < 0.5:
		return high - low
	case low > 0.5:
		return d.Above(l.Low) - d.Above(l.High)
	}
	return 1 - low - d.Above(l.High)
}

// NonconformanceProbability returns 1 − p without loss where it is small.
func NonconformanceProbability(d Distribution, l Limits) float64 {
	if absent(d) {
		return math.NaN()
	}
	return d.Below(l.Low) + d.Above(l.High)
}

// CapabilityIndex returns the measurement capability index.
//
//	C_m = (T_U − T_L)/(4u)
//
// NaN for one-sided limits. Reference: JCGM 106:2012, 7.6.3.
func CapabilityIndex(l Limits, u float64) float64 {
	if !l.twoSided() || u < 0 {
		return math.NaN()
	}
	return (l.High - l.Low) / (4 * u)
}
