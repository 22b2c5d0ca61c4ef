package report

import (
	"math"
	"strconv"

	"example.org/wheatear/lockin/uncertain"
)

// valued reports whether a quantity has a value, and not only a bound.
func valued(q uncertain.Quantity) bool { return !math.IsNaN(q.Value) }

// full writes a quantity with its interval.
func full(q uncertain.Quantity, unit string) string { return uncertain.FormatQuantity(q, unit) }

// short writes a quantity for a table: of an interval that lies unevenly about
// the value the longer side counts on both.
func short(q uncertain.Quantity, unit string) string {
	half := math.Max(q.High-q.Value, q.Value-q.Low)
	if !valued(q) || math.IsInf(half, 0) || math.IsNaN(half) {
		return full(q, unit)
	}
	return uncertain.Format(q.Value, half, unit)
}

// rough writes a number of which no uncertainty is known, with two digits.
func rough(v float64, unit string) string {
	two, err := strconv.ParseFloat(strconv.FormatFloat(v, 'e', 1, 64), 64)
	if err != nil || math.IsNaN(two) {
		return "—"
	}
	return uncertain.Format(two, 0, unit)
}
