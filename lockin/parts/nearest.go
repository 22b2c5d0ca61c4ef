package parts

import "math"

// sameValue is how far, relatively, a computed value may lie from a member and
// still be it: well above what a few roundings of a float64 cost (1e-15 each),
// well below the step of the finest series (1e-2).
const sameValue = 1e-9

// Nearest returns the member with the smallest ratio to value, either way up:
// the boundary between two members is their geometric mean. NaN where value is
// not positive and finite, or s is no series.
func (s Series) Nearest(value float64) float64 {
	return s.choose(value, func(below, above float64) bool { return value/below <= above/value })
}

// NearestRelative returns the member with the smallest |member − value|/value:
// the boundary between two members is their arithmetic mean, so that the
// deviation in per cent is the least. NaN as with Nearest.
func (s Series) NearestRelative(value float64) float64 {
	return s.choose(value, func(below, above float64) bool { return value-below <= above-value })
}

// choose returns the member that value is, or one of its neighbours.
func (s Series) choose(value float64, takeBelow func(below, above float64) bool) float64 {
	if m, ok := s.Member(value); ok {
		return m
	}
	below, above := s.Neighbours(value)
	if takeBelow(below, above) {
		return below
	}
	return above
}

// Neighbours returns the members next below and next above value; of a member
// those on either side of it. NaN as with Nearest.
func (s Series) Neighbours(value float64) (below, above float64) {
	below, above = math.NaN(), math.NaN()
	if !s.Valid() || !ordinary(value) {
		return below, above
	}
	decade := int(math.Floor(math.Log10(value)))
	for e := decade - 1; e <= decade+1; e++ {
		for _, f := range s.figures() {
			switch m := s.scaled(f, e); {
			case m < value*(1-sameValue):
				below = m
			case m > value*(1+sameValue):
				return below, m
			}
		}
	}
	return below, above
}

// ordinary reports whether a value is positive and not at the ends of float64,
// where members lose digits. No part comes near.
func ordinary(value float64) bool { return value > 1e-290 && value < 1e290 }

// Member returns the member that value is, within what computing it may have
// cost. It is not ok where value is none.
func (s Series) Member(value float64) (member float64, ok bool) {
	if !ordinary(value) {
		return 0, false
	}
	decade := int(math.Floor(math.Log10(value * (1 + sameValue))))
	for _, f := range s.figures() {
		if m := s.scaled(f, decade); math.Abs(m-value) <= sameValue*value {
			return m, true
		}
	}
	return 0, false
}

// SeriesOf returns the series that value belongs to, coarsest first.
func SeriesOf(value float64) []Series {
	var out []Series
	for _, s := range AllSeries() {
		if _, ok := s.Member(value); ok {
			out = append(out, s)
		}
	}
	return out
}
