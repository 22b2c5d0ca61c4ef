package parts

import (
	"math"
	"strconv"
	"strings"
)

// FormatValue writes a value the way the trade does, with the prefix or the
// unit's letter in place of the decimal mark: 4k7, 100n, 2R2, R47, 50m, 120.
//
// The value is in the SI base unit. ParseSigned reads back exactly the same
// float64 (ParseValue where it is not negative). More than three digits behind
// the mark are written with a point (1.23456k), and values outside of all
// prefixes with an exponent (1e-18). NaN and infinities give "".
func FormatValue(value float64, unit Unit) string {
	switch {
	case math.IsNaN(value) || math.IsInf(value, 0):
		return ""
	case value == 0:
		return "0"
	case value < 0:
		return "-" + FormatValue(-value, unit)
	}
	digits, exponent := shortest(value)
	letter, scale, ok := unit.scale(exponent)
	if !ok {
		return strconv.FormatFloat(value, 'e', -1, 64)
	}
	whole, frac := split(digits, exponent-scale)
	return join(whole, frac, letter, unit)
}

// shortest returns the fewest digits d.ddd × 10^exponent that name the value.
func shortest(value float64) (digits string, exponent int) {
	mantissa, exp, _ := strings.Cut(strconv.FormatFloat(value, 'e', -1, 64), "e")
	exponent, _ = strconv.Atoi(exp)
	return strings.Replace(mantissa, ".", "", 1), exponent
}

// scale chooses the prefix that leaves one to three digits before the mark. A
// tenth of an ohm and more is written in ohm (R47), a femtofarad and more in pF.
func (u Unit) scale(exponent int) (letter string, scale int, ok bool) {
	info := u.info()
	if exponent < -15 || exponent > info.most+2 {
		return "", 0, false
	}
	scale = max(3*floorDiv(exponent, 3), -12)
	if u == Ohm && exponent == -1 {
		scale = 0
	}
	if scale == 0 {
		return "", 0, true
	}
	for _, p := range prefixes {
		if p.exponent == scale {
			return p.letters[:1], scale, true
		}
	}
	return "", 0, false
}

func floorDiv(a, b int) int {
	return int(math.Floor(float64(a) / float64(b)))
}

// split puts the decimal mark behind digit number point (counted from 0).
func split(digits string, point int) (whole, frac string) {
	if point < 0 {
		return "", strings.Repeat("0", -point-1) + digits
	}
	if n := point + 1 - len(digits); n > 0 {
		digits += strings.Repeat("0", n)
	}
	return digits[:point+1], digits[point+1:]
}

// join puts whole, fraction and letter together.
func join(whole, frac, letter string, unit Unit) string {
	const most = 3 // digits behind a letter that a person still reads at a glance
	mark := letter
	if mark == "" && unit.info().mark != 0 {
		mark = string(unit.info().mark)
	}
	switch {
	case frac == "":
		return whole + mark
	case mark != "" && len(frac) <= most && (whole != "" || letter == ""):
		return whole + mark + frac
	case whole == "":
		return "0." + frac + mark
	}
	return whole + "." + frac + mark
}
