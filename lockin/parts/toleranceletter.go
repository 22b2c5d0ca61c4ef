package parts

import (
	"math"
	"strconv"
	"strings"
)

// Tolerance is how far the value of a part may lie from what is marked on it.
// The zero Tolerance says that nothing is marked.
//
// Source: IEC 60062:2016, clause 5 (E, L, P, W, H, N, Q, S, T from memory).
type Tolerance struct {
	Letter      string  // as marked; empty where it was marked otherwise
	Minus, Plus float64 // fractions of the value, zero or more
	AbsoluteF   float64 // farad, for small capacitors; then Minus and Plus are 0
}

// Given reports whether there are limits.
func (t Tolerance) Given() bool { return t.Minus > 0 || t.Plus > 0 || t.AbsoluteF > 0 }

// Of returns the limits of a value, in its unit. A capacitance does not go below
// zero. Without a tolerance both are NaN.
func (t Tolerance) Of(value float64) Limits {
	switch {
	case !t.Given():
		return Limits{math.NaN(), math.NaN()}
	case t.AbsoluteF > 0:
		return Limits{math.Max(0, value-t.AbsoluteF), value + t.AbsoluteF}
	}
	return Limits{value - value*t.Minus, value + value*t.Plus}
}

// String writes the limits as people say them: 10 %, -20/+80 %, 0.25 pF.
func (t Tolerance) String() string {
	switch {
	case !t.Given():
		return "no tolerance"
	case t.AbsoluteF > 0:
		return Words(t.AbsoluteF, Farad)
	case t.Minus == t.Plus:
		return percent(t.Plus) + " %"
	}
	return "-" + percent(t.Minus) + "/+" + percent(t.Plus) + " %"
}

// percent writes a fraction in per cent, without what binary fractions add.
func percent(rel float64) string { return strconv.FormatFloat(100*rel, 'g', 6, 64) }

// Symmetric is a tolerance of a fraction either way.
func Symmetric(rel float64) Tolerance { return Tolerance{Minus: rel, Plus: rel} }

// percents by letter, below and above the value.
func letterPercent(letter rune) (minus, plus float64, ok bool) {
	const letters = "ELPWBCDFGHJKMN"
	symmetric := [...]float64{0.005, 0.01, 0.02, 0.05, 0.1, 0.25, 0.5, 1, 2, 3, 5, 10, 20, 30}
	if i := strings.IndexRune(letters, letter); i >= 0 {
		return symmetric[i], symmetric[i], true
	}
	switch letter {
	case 'Q':
		return 10, 30, true
	case 'T':
		return 10, 50, true
	case 'S':
		return 20, 50, true
	case 'Z':
		return 20, 80, true
	}
	return 0, 0, false
}

// letterPicofarad gives the letters of capacitors below 10 pF their other meaning.
func letterPicofarad(letter rune) (pF string, ok bool) {
	pF, ok = map[rune]string{'B': "0.1", 'C': "0.25", 'D': "0.5", 'F': "1", 'G': "2"}[letter]
	return pF, ok
}

// smallestRelativeF is where per cent begin for capacitors.
const smallestRelativeF = 10e-12

// ToleranceOf returns what a letter means on a part of the given value and unit.
// On capacitors below 10 pF the letters B, C, D, F and G are picofarads. A means
// "by agreement" and gives no limits. It is not ok where the letter means nothing.
func ToleranceOf(letter rune, value float64, unit Unit) (t Tolerance, ok bool) {
	t.Letter = string(letter)
	if letter == 'A' {
		return t, true
	}
	if unit == Farad && value < smallestRelativeF {
		if pF, small := letterPicofarad(letter); small {
			t.AbsoluteF = decimal(pF, -12)
			return t, true
		}
	}
	minus, plus, ok := letterPercent(letter)
	t.Minus, t.Plus = minus/100, plus/100
	return t, ok
}
