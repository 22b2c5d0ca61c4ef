package uncertain

import (
	"math"
	"strconv"
	"strings"
)

// decimal is a rounded number, digits·10^place. All rounding is done once, from
// the exact binary value, and every later choice (prefix, exponent) looks at the
// rounded digits, so that nothing is rounded twice.
type decimal struct {
	negative bool
	digits   string // without leading zeros; empty is zero
	place    int
}

// mostDigits is how many significant digits a float64 can carry and 10⁻¹⁵ of it
// still be counted.
const mostDigits = 16

// roundDigits rounds v, finite, to n significant digits, n at least 1.
func roundDigits(v float64, n int) decimal {
	if v == 0 {
		return decimal{}
	}
	return parseScientific(strconv.FormatFloat(math.Abs(v), 'e', n-1, 64), v < 0)
}

// shortest is v, finite, in the fewest digits that are read back as v.
func shortest(v float64) decimal {
	if v == 0 {
		return decimal{}
	}
	d := parseScientific(strconv.FormatFloat(math.Abs(v), 'e', -1, 64), v < 0)
	return d.trim()
}

// leading is v to so many digits that the first one is the exact value's: the
// shortest decimal will not do, 1e23 being 9.99…e22 in binary. No float64 is
// nearer to a power of ten than 1e-20 of itself without being one.
func leading(v float64) decimal { return roundDigits(v, 40) }

// roundAt rounds v, finite, to a multiple of 10^place.
func roundAt(v float64, place int) decimal {
	exact := leading(v)
	top := exact.top()
	switch {
	case v == 0 || top < place-1:
		return decimal{place: place}
	case top == place-1: // all digits go; half or more leaves a one
		if exact.digits[0] < '5' {
			return decimal{place: place}
		}
		return decimal{negative: v < 0, digits: "1", place: place}
	}
	d := roundDigits(v, top-place+1)
	if d.place > place { // carried into a new digit
		d.digits += strings.Repeat("0", d.place-place)
		d.place = place
	}
	return d
}

// parseScientific reads d.ddde±xx as strconv writes it.
func parseScientific(text string, negative bool) decimal {
	mantissa, exponent, _ := strings.Cut(text, "e")
	e, _ := strconv.Atoi(exponent) // strconv wrote it
	whole, fraction, _ := strings.Cut(mantissa, ".")
	return decimal{negative: negative, digits: whole + fraction, place: e - len(fraction)}
}

// trim takes trailing zeros away.
func (d decimal) trim() decimal {
	short := strings.TrimRight(d.digits, "0")
	d.place += len(d.digits) - len(short)
	d.digits = short
	return d
}

// zero reports whether nothing is left of the number.
func (d decimal) zero() bool { return d.digits == "" }

// top is the decimal exponent of the leading digit; for zero, of the last place.
func (d decimal) top() int {
	if d.zero() {
		return d.place
	}
	return d.place + len(d.digits) - 1
}

// text writes the number in units of 10^exponent, with every place down to its
// last one.
func (d decimal) text(exponent int) string {
	sign := ""
	if d.negative && !d.zero() {
		sign = "-"
	}
	decimals := exponent - d.place
	if decimals <= 0 {
		if d.zero() {
			return "0"
		}
		return sign + d.digits + strings.Repeat("0", -decimals)
	}
	digits := d.digits
	if missing := decimals + 1 - len(digits); missing > 0 {
		digits = strings.Repeat("0", missing) + digits
	}
	point := len(digits) - decimals
	return sign + digits[:point] + "." + digits[point:]
}

// float returns the number; ±Inf where it is too large.
func (d decimal) float() float64 {
	text := d.digits
	if d.zero() {
		return 0
	}
	if d.negative {
		text = "-" + text
	}
	v, _ := strconv.ParseFloat(text+"e"+strconv.Itoa(d.place), 64)
	return v
}

// next returns the number one unit of its last place further from zero.
func (d decimal) next() decimal {
	digits := []byte("0" + d.digits)
	i := len(digits) - 1
	for ; digits[i] == '9'; i-- {
		digits[i] = '0'
	}
	digits[i]++
	d.digits = strings.TrimLeft(string(digits), "0")
	return d
}

// roundBound rounds v, finite, to n significant digits and never inwards: down
// where down is true (the bound of ">"), up otherwise ("<").
func roundBound(v float64, n int, down bool) decimal {
	d := roundDigits(v, n)
	if d.zero() || (down && d.float() <= v) || (!down && d.float() >= v) {
		return d
	}
	if down == d.negative { // outwards is away from zero
		return d.next()
	}
	// Outwards is towards zero: cut digits off instead of rounding them.
	all := roundDigits(v, 17)
	return decimal{negative: d.negative, digits: all.digits[:n], place: all.place + 17 - n}
}
