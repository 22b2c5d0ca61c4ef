package plot

import (
	"math"
	"slices"

	"example.org/wheatear/lockin/uncertain"
)

// axis maps values to the unit interval, logarithmically or not. A logarithmic
// one holds values above 0 only.
type axis struct {
	low, high float64
	log       bool
}

// at returns 0 at the low end and 1 at the high one. What cannot be on a
// logarithmic axis lies far below it.
func (a axis) at(v float64) float64 {
	if !a.log {
		return (v - a.low) / (a.high - a.low)
	}
	if v <= 0 {
		return -1
	}
	return math.Log(v/a.low) / math.Log(a.high/a.low)
}

// padded leaves a part of the length free at both ends.
func (a axis) padded(part float64) axis {
	if a.log {
		f := math.Pow(a.high/a.low, part)
		return axis{a.low / f, a.high * f, true}
	}
	d := part * (a.high - a.low)
	return axis{a.low - d, a.high + d, false}
}

// atLeast widens an axis about its middle to a span: a ratio on a logarithmic
// axis, a difference on another one.
func (a axis) atLeast(span float64) axis {
	if a.log {
		if f := math.Sqrt(span / (a.high / a.low)); f > 1 {
			return axis{a.low / f, a.high * f, true}
		}
		return a
	}
	if d := (span - (a.high - a.low)) / 2; d > 0 {
		return axis{a.low - d, a.high + d, false}
	}
	return a
}

// covering is an axis for values and their intervals. Every value is on it; an
// interval counts unless it is much wider than most, as one such would flatten
// all the others.
func covering(list []uncertain.Quantity, log bool) (axis, bool) {
	a := axis{math.Inf(1), math.Inf(-1), log}
	for _, v := range landmarks(list) {
		if !log || v > 0 {
			a.low, a.high = math.Min(a.low, v), math.Max(a.high, v)
		}
	}
	if !(a.low <= a.high) {
		return a, false
	}
	return a, true
}

// landmarks are the values and the ends of the intervals that count.
func landmarks(list []uncertain.Quantity) []float64 {
	const muchWider = 4
	var widths, out []float64
	for _, q := range list {
		if w := q.High - q.Low; finite(w) {
			widths = append(widths, w/math.Max(math.Abs(q.Value), math.SmallestNonzeroFloat64))
		}
	}
	slices.Sort(widths)
	for _, q := range list {
		out = append(out, q.Value)
		if w := (q.High - q.Low) / math.Abs(q.Value); finite(w) && w <= muchWider*widths[len(widths)/2] {
			out = append(out, q.Low, q.High)
		}
	}
	return slices.DeleteFunc(out, func(v float64) bool { return !finite(v) })
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
