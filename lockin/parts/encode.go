package parts

import (
	"math"
	"strings"

	"example.org/wheatear/lockin/internal/errkind"
)

// mostCoded is the largest number of figures in a letter-and-digit code, as in
// 59K04.
const mostCoded = 5

// Encode writes a value as the letter-and-digit code of a resistor (Ohm: 4K7,
// R47, 10R) or a capacitor (Farad: 4n7, p10, 10µ), with at least two figures, and
// the letter of the tolerance where one is given. Decode reads it back to the same
// float64.
//
// Errors: another unit, a value that is not positive, with more than five figures
// or beyond the multipliers, and a tolerance that has no letter. 1 % and 3 % have
// none on capacitors: Decode would take F and H for units.
// Source: IEC 60062:2016, clauses 4 and 5.
func Encode(value float64, unit Unit, t Tolerance) (string, error) {
	switch {
	case unit != Ohm && unit != Farad:
		return "", errkind.Errorf(ErrInput, "parts: letter-and-digit codes are for resistors and capacitors: give ohm or farad")
	case !(value > 0) || math.IsInf(value, 0):
		return "", errkind.Errorf(ErrInput, "parts: %g %s has no letter-and-digit code: give a value above zero", value, unit)
	}
	digits, exponent := shortest(value)
	letter, scale, ok := codeLetter(unit, exponent)
	if !ok || len(digits) > mostCoded || exponent-scale < -1 {
		return "", errkind.Errorf(ErrInput, "parts: %s has no letter-and-digit code: they have up to %d figures and a multiplier of the unit", Words(value, unit), mostCoded)
	}
	tolerance, err := toleranceLetter(t, value, unit)
	if err != nil {
		return "", err
	}
	if len(digits) < 2 {
		digits += "0"
	}
	whole, frac := split(digits, exponent-scale)
	return whole + letter + frac + tolerance, nil
}

// codeLetter chooses the multiplier that leaves one to three figures before it; a
// tenth of an ohm, and of a picofarad, has none before it.
func codeLetter(unit Unit, exponent int) (letter string, scale int, ok bool) {
	scale = 3 * floorDiv(exponent, 3)
	if exponent == -1 && unit == Ohm || exponent == -13 && unit == Farad {
		scale = exponent + 1
	}
	letter, ok = map[Unit]map[int]string{
		Ohm:   {-3: "L", 0: "R", 3: "K", 6: "M", 9: "G", 12: "T"},
		Farad: {-12: "p", -9: "n", -6: "µ", -3: "m", 0: "F"},
	}[unit][scale]
	return letter, scale, ok
}

// toleranceLetter finds the letter of a tolerance.
func toleranceLetter(t Tolerance, value float64, unit Unit) (string, error) {
	if !t.Given() {
		return "", nil
	}
	for _, letter := range "ELPWBCDFGHJKMNQTSZ" {
		got, _ := ToleranceOf(letter, value, unit)
		if isUnit := unit != Ohm && unitLetters[letter] != None; !isUnit && sameTolerance(got, t) {
			return string(letter), nil
		}
	}
	return "", errkind.Errorf(ErrInput, "parts: a tolerance of %s has no letter on %s", t, strings.TrimSpace(Words(value, unit)))
}

// sameTolerance compares limits, whatever they were written as.
func sameTolerance(a, b Tolerance) bool {
	near := func(x, y float64) bool { return math.Abs(x-y) <= sameValue*math.Abs(y) }
	return near(a.Minus, b.Minus) && near(a.Plus, b.Plus) && near(a.AbsoluteF, b.AbsoluteF)
}
