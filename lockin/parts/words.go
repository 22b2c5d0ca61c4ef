package parts

import (
	"math"
	"strconv"
)

// Words writes a value as it is said, with a space before prefix and unit: 4.7 nF,
// 0.47 pF, 1 MΩ. All digits that name the float64 are written; see FormatValue
// for the short way. NaN and infinities give "".
func Words(value float64, unit Unit) string {
	switch {
	case math.IsNaN(value) || math.IsInf(value, 0):
		return ""
	case value == 0:
		return spaced("0", unit.String())
	case value < 0:
		return "-" + Words(-value, unit)
	}
	digits, exponent := shortest(value)
	letter, scale, ok := unit.scale(exponent)
	if !ok {
		return spaced(strconv.FormatFloat(value, 'e', -1, 64), unit.String())
	}
	whole, frac := split(digits, exponent-scale)
	if whole == "" {
		whole = "0"
	}
	if frac != "" {
		whole += "." + frac
	}
	if letter == "u" {
		letter = "µ"
	}
	return spaced(whole, letter+unit.String())
}

func spaced(number, unit string) string {
	if unit == "" {
		return number
	}
	return number + " " + unit
}
