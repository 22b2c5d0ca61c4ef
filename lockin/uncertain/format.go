package uncertain

import (
	"math"
	"strconv"
)

// noValue is shown for what does not exist or is not known at all.
const noValue = "—"

// Format writes a value and its uncertainty with an engineering prefix:
//
//	Format(99.87e-9, 0.14e-9, "F") == "99.87 nF ± 0.14 nF"
//
// The uncertainty is rounded to two significant digits and the value to the same
// place; no digit is shown that the uncertainty does not carry, not even a zero
// before the point: 230 kΩ to the nearest 10 kΩ is 0.23 MΩ. (Two digits, and the
// half-width of the 95 % interval after ±, are this project's custom: common
// practice, no source. Callers pass that half-width; FormatQuantity takes it from
// the interval.)
//
// unit is Ω, F, H, V, A, Hz, rad, s, … ; prefixes run from p to G and the choice
// follows the rounded digits. deg, °, %, ppm and the empty unit take none, and a
// power of ten instead where it is needed. Special cases: a value or uncertainty
// that is NaN or infinite, or a negative uncertainty, gives "—"; uncertainty 0
// (exact) gives the value alone, in the fewest digits that say it.
func Format(value, uncertainty float64, unit string) string {
	return write(value, uncertainty, unit).text()
}

// write is Format in pieces.
func write(value, uncertainty float64, unit string) Written {
	if !finite(value) || !finite(uncertainty) || uncertainty < 0 {
		return Written{}
	}
	if uncertainty == 0 {
		v := shortest(value)
		s := newScale(v.top(), math.MinInt, unit)
		return s.written(Written{Value: s.text(v)})
	}
	v, w := roundTogether(value, uncertainty)
	s := newScale(max(v.top(), w.top()), w.place, unit)
	return s.written(Written{Value: s.text(v), Half: s.text(w)})
}

// Written is a quantity in rounded digits of one scale, in the pieces that
// FormatQuantity joins, for those who set them in a way of their own. What does not
// apply is empty: either Half, where the interval lies evenly about the value, or Low
// and High, of which one is missing where there is no bound. Where nothing is known
// all is.
type Written struct {
	Value     string
	Half      string // of the 95 % interval
	Low, High string // its ends
	Power     string // behind the digits, such as e6; mostly empty
	Unit      string // with its prefix
}

// WriteQuantity is FormatQuantity in pieces.
func WriteQuantity(q Quantity, unit string) Written {
	low, high := q.Low, q.High
	if math.IsNaN(low) && math.IsNaN(high) {
		return write(q.Value, normal95*q.U, unit)
	}
	switch {
	case !finite(low) && !finite(high):
		return Written{}
	case !finite(high):
		s, text := bound(low, unit, true)
		return s.written(Written{Low: text})
	case !finite(low), nothingToTell(q):
		s, text := bound(high, unit, false)
		return s.written(Written{High: text})
	case !finite(q.Value):
		return writeRange(low, high, unit)
	case uneven(q):
		return writeUneven(q, unit)
	}
	return write(q.Value, (high-low)/2, unit)
}

// text joins the pieces.
func (w Written) text() string {
	suffix := w.Power + spaced(w.Unit)
	switch {
	case w.Half != "":
		return w.Value + suffix + " ± " + w.Half + suffix
	case w.Value != "" && w.Low != "":
		return w.Value + suffix + " (" + w.Low + " to " + w.High + ")" + suffix
	case w.Value != "":
		return w.Value + suffix
	case w.Low != "" && w.High != "":
		return w.Low + suffix + " to " + w.High + suffix
	case w.Low != "":
		return "> " + w.Low + suffix
	case w.High != "":
		return "< " + w.High + suffix
	}
	return noValue
}

// roundTogether rounds the uncertainty to two digits and the value to the same
// place, but never beyond what a float64 of this size can hold.
func roundTogether(value, uncertainty float64) (v, w decimal) {
	w = roundDigits(uncertainty, 2)
	if finest := leading(value).top() - mostDigits + 1; value != 0 && w.place < finest {
		w = roundAt(uncertainty, finest)
		if w.float() < uncertainty {
			w = w.next()
		}
	}
	return roundAt(value, w.place), w
}

// FormatQuantity writes a quantity with its 95 % interval:
//
//	"99.87 nF ± 0.14 nF"         the interval lies evenly about the value; ± is its half-width
//	"0.31 mΩ (0.02 to 0.94) mΩ"  it does not
//	"> 12 MΩ", "< 0.00034"       it has one end only, or begins at zero with nothing to be
//	                             told from it; the bound is rounded outwards
//	"1.0 kΩ to 2.0 kΩ"           there is an interval but no value
//	"—"                          nothing is known
//
// Where the interval is missing (NaN), 1.96 u stands in for its half-width.
func FormatQuantity(q Quantity, unit string) string { return WriteQuantity(q, unit).text() }

// nothingToTell reports whether a quantity that cannot be negative may as well be
// nothing: its interval begins at zero and its value, if any, is within one u of it.
func nothingToTell(q Quantity) bool {
	return q.Low == 0 && q.High > 0 && !(q.Value > q.U)
}

// uneven reports whether ± would misplace an end of the interval by more than a
// twentieth of its width (common practice, no source).
func uneven(q Quantity) bool {
	return math.Abs((q.High-q.Value)-(q.Value-q.Low)) > 0.1*(q.High-q.Low)
}

func bound(v float64, unit string, down bool) (scale, string) {
	d := roundBound(v, 2, down)
	s := newScale(d.top(), math.MinInt, unit)
	return s, s.text(d) // a bound's zeros are part of the claim
}

func writeRange(low, high float64, unit string) Written {
	half := (high - low) / 2
	if !(half > 0) || !finite(half) {
		return Written{}
	}
	a, w := roundTogether(low, half)
	b := roundAt(high, w.place)
	s := newScale(max(a.top(), b.top(), w.top()), w.place, unit)
	return s.written(Written{Low: s.text(a), High: s.text(b)})
}

func writeUneven(q Quantity, unit string) Written {
	half := (q.High - q.Low) / 2
	if !(half > 0) || !finite(half) {
		return Written{}
	}
	largest := math.Max(math.Abs(q.Value), math.Max(math.Abs(q.Low), math.Abs(q.High)))
	_, w := roundTogether(largest, half)
	v, a, b := roundAt(q.Value, w.place), roundAt(q.Low, w.place), roundAt(q.High, w.place)
	s := newScale(max(v.top(), a.top(), b.top(), w.top()), w.place, unit)
	return s.written(Written{Value: s.text(v), Low: s.text(a), High: s.text(b)})
}

// scale is how numbers are written: in units of 10^exponent, followed by power and unit.
type scale struct {
	exponent    int
	power, unit string
}

func (s scale) text(d decimal) string { return d.text(s.exponent) }

// written adds power and unit to what is written in this scale.
func (s scale) written(w Written) Written {
	w.Power, w.Unit = s.power, s.unit
	return w
}

// prefixes from p to G, three decades apart.
var prefixes = [...]string{"p", "n", "µ", "m", "", "k", "M", "G"}

const leastPrefix, greatestPrefix = -12, 9

// newScale chooses a scale for numbers whose leading digit is at 10^top and whose
// last supported one is at 10^place: from 1 to 999 before the point, unless that
// would need a zero below place.
func newScale(top, place int, unit string) scale {
	exponent := max(floorThree(top), ceilThree(place))
	if plain := unit == "" || unit == "deg" || unit == "°" || unit == "%" || unit == "ppm"; plain {
		if place <= 0 && top >= -6 && top < 6 {
			exponent = 0
		}
		return scale{exponent, power(exponent), unit}
	}
	if exponent < leastPrefix-3 || exponent > greatestPrefix+3 {
		return scale{exponent, power(exponent), unit}
	}
	if exponent > greatestPrefix && place <= greatestPrefix || exponent < leastPrefix {
		exponent = min(max(exponent, leastPrefix), greatestPrefix)
	}
	if exponent > greatestPrefix {
		return scale{exponent, power(exponent), unit}
	}
	return scale{exponent, "", prefixes[(exponent-leastPrefix)/3] + unit}
}

func power(exponent int) string {
	if exponent == 0 {
		return ""
	}
	return "e" + strconv.Itoa(exponent)
}

func spaced(unit string) string {
	if unit == "" {
		return ""
	}
	return " " + unit
}

func floorThree(n int) int { return n - ((n%3)+3)%3 }

// ceilThree is the multiple of three at or above n; MinInt stays far below.
func ceilThree(n int) int {
	if n == math.MinInt {
		return n
	}
	return -floorThree(-n)
}
