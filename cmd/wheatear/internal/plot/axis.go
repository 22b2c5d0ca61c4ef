package plot

import (
	"math"
	"slices"
	"strconv"
	"strings"

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

// tick is a place on an axis. One without text is minor.
type tick struct {
	value float64
	text  string
}

// ticks chooses the places to be marked, with the unit in every text.
func (a axis) ticks(unit string) []tick {
	if a.log && a.high/a.low >= 10 {
		return a.decades(unit)
	}
	return a.even(unit)
}

// decades marks powers of ten; where there are few of them 2 and 5 too.
func (a axis) decades(unit string) []tick {
	span := math.Log10(a.high / a.low)
	every := int(math.Ceil(span / 8))
	var out []tick
	for e := int(math.Floor(math.Log10(a.low))); e <= int(math.Ceil(math.Log10(a.high))); e++ {
		for m := 1; m <= 9; m++ {
			v := float64(m) * math.Pow(10, float64(e))
			if v < a.low*(1-1e-9) || v > a.high*(1+1e-9) {
				continue
			}
			t := tick{value: v}
			if m == 1 && e%every == 0 || span < 3.3 && (m == 2 || m == 5) {
				t.text = uncertain.Format(shortest(v), 0, unit)
			}
			out = append(out, t)
		}
	}
	return out
}

// shortest drops what powers of ten add behind the first digits.
func shortest(v float64) float64 {
	s, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 6, 64), 64)
	if err != nil {
		return v
	}
	return s
}

// even marks three to seven round values.
func (a axis) even(unit string) []tick {
	step := roundStep((a.high-a.low)/5, unit)
	exponent := engineering(math.Max(math.Abs(a.low), math.Abs(a.high)), unit)
	decimals := max(0, exponent-int(math.Floor(math.Log10(step)+1e-9)))
	var out []tick
	for n := math.Ceil(a.low/step - 1e-9); n*step <= a.high+1e-9*step; n++ {
		v := n * step
		text := strconv.FormatFloat(v/math.Pow(10, float64(exponent)), 'f', decimals, 64)
		if strings.Trim(text, "-0.") == "" {
			text = strings.TrimPrefix(text, "-")
		}
		out = append(out, tick{v, strings.Replace(text, "-", "−", 1) + suffix(exponent, unit)})
	}
	return out
}

// roundStep is a step of about that length: angles go by parts of a circle.
func roundStep(about float64, unit string) float64 {
	if unit == "°" && about > 5 {
		for _, s := range []float64{10, 15, 30, 45, 90} {
			if s >= about {
				return s
			}
		}
	}
	decade := math.Pow(10, math.Floor(math.Log10(about)))
	for _, s := range []float64{1, 2, 5} {
		if s*decade >= about {
			return s * decade
		}
	}
	return 10 * decade
}

// prefixes from f to T, three decades apart.
var prefixes = []string{"f", "p", "n", "µ", "m", "", "k", "M", "G", "T"}

const leastPrefix = -15

// engineering is the power of ten of the prefix for a value.
func engineering(v float64, unit string) int {
	if unit == "°" || unit == "%" || unit == "" || !(v > 0) {
		return 0
	}
	e := 3 * int(math.Floor(math.Log10(v)/3+1e-9))
	return min(max(e, leastPrefix), leastPrefix+3*(len(prefixes)-1))
}

func suffix(exponent int, unit string) string {
	if unit == "°" {
		return "°"
	}
	return " " + prefixes[(exponent-leastPrefix)/3] + unit
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
