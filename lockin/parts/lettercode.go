package parts

import (
	"fmt"
	"strings"
	"unicode"
)

// multiplier is a letter that stands for the decimal mark.
type multiplier struct {
	letters  string
	exponent int
	inside   bool // only with digits behind it
	unsure   bool // on a resistor, m
	coil     bool // on an inductor only where henry is written or known
}

// multipliers by unit. Source: IEC 60062:2016, clause 4; of inductors, and R on
// capacitors, from memory.
func multipliers(unit Unit) []multiplier {
	switch unit {
	case Ohm:
		return []multiplier{
			{letters: "Ll", exponent: -3}, {letters: "Rr", exponent: 0}, {letters: "Kk", exponent: 3}, {letters: "M", exponent: 6},
			{letters: "m", exponent: -3, unsure: true}, {letters: "m", exponent: 6, unsure: true},
			{letters: "Gg", exponent: 9}, {letters: "Tt", exponent: 12},
		}
	case Farad:
		return []multiplier{
			{letters: "p", exponent: -12}, {letters: "n", exponent: -9}, {letters: "u\u00b5\u03bc", exponent: -6},
			{letters: "m", exponent: -3}, {letters: "F", exponent: 0}, {letters: "R", exponent: -12, inside: true},
		}
	case Henry:
		return []multiplier{
			{letters: "R", exponent: -6, inside: true}, {letters: "N", exponent: -9}, {letters: "n", exponent: -9, coil: true},
			{letters: "u\u00b5\u03bc", exponent: -6, coil: true}, {letters: "m", exponent: -3, coil: true},
		}
	}
	return nil
}

// Most digits of a letter-and-digit code: 59K04 has five, 4700u four before the
// letter.
const (
	mostWhole = 4
	mostFrac  = 5
)

// letterCode reads 4K7J, R47, 4n7K, 100nF.
func letterCode(d *decoder) ([]Marking, error) {
	start := d.pos
	whole := d.digits()
	letter := d.peek(0)
	if letter == 0 {
		return nil, nil // no letter: figures alone
	}
	fits := d.fitting(letter)
	if len(fits) == 0 {
		return nil, d.noMultiplier(whole)
	}
	d.pos++
	frac := d.digits()
	if err := d.checkFigures(whole, frac, start); err != nil {
		return nil, err
	}
	var out []Marking
	var refused error
	for _, m := range fits {
		if m.inside && frac == "" {
			refused = d.errorf("%c is the decimal mark here: figures belong behind it, as in 4R7", letter)
			continue
		}
		readings, err := d.letterReadings(m, whole, frac)
		if err != nil {
			refused = err
		}
		out = append(out, readings...)
	}
	return out, refused
}

// fitting returns the multipliers that a letter may be.
func (d *decoder) fitting(letter rune) []multiplier {
	var out []multiplier
	for _, m := range multipliers(d.unit) {
		if strings.ContainsRune(m.letters, letter) {
			out = append(out, m)
		}
	}
	return out
}

// noMultiplier explains a letter that is none; nothing where another code of the
// same shape may be meant.
func (d *decoder) noMultiplier(whole string) error {
	letter := d.peek(0)
	switch {
	case d.pos == len(d.runs)-1 && d.endsOther(len(whole)), d.unit == Farad && isTwo(d.runs[d.pos:]) && whole == "":
		return nil
	case d.unit == Farad && strings.ContainsRune("PNUM", letter):
		return d.errorf("capital %c multiplies no farad: capacitors have small letters, p n µ m", letter)
	case d.unit == Farad && strings.ContainsRune("KkRGTL", letter):
		return d.errorf("%c multiplies ohm: capacitors have p n µ m", letter)
	case d.unit == Ohm && strings.ContainsRune("pnuµμ", letter):
		return d.errorf("%c multiplies no ohm: resistors have L R K M G T", letter)
	case d.unit == Henry:
		return d.errorf("%c multiplies no henry: inductors have R in µH and N in nH, or nH, µH and mH written out", letter)
	}
	return d.errorf("%c is no multiplier: resistors have L R K M G T, capacitors p n µ m", letter)
}

// endsOther reports whether the last letter behind some figures may belong to
// another code, which will judge it.
func (d *decoder) endsOther(figures int) bool {
	switch {
	case figures >= 3:
		return true
	case d.unit == Ohm && figures == 2:
		_, ok := e96Exponent(d.peek(0))
		return ok
	case d.unit == Farad && figures > 0:
		return isTolerance(d.peek(0))
	}
	return false
}

// checkFigures counts the digits.
func (d *decoder) checkFigures(whole, frac string, start int) error {
	switch {
	case whole+frac == "":
		return d.errorf("no figures: write them on either side of the letter, as in 4K7 or R47")
	case len(whole) > mostWhole:
		d.pos = start + mostWhole
		return d.errorf("%d figures before the letter: codes have up to %d", len(whole), mostWhole)
	case len(frac) > mostFrac:
		return d.errorf("%d figures behind the letter: codes have up to %d", len(frac), mostFrac)
	case strings.Trim(whole+frac, "0") == "" && (d.unit != Ohm || !strings.ContainsRune("Rr", d.runs[start+len(whole)])):
		return d.errorf("a value of nothing: only a link is marked 0")
	}
	return nil
}

// letterReadings reads what follows the value: a unit, a tolerance letter.
func (d *decoder) letterReadings(m multiplier, whole, frac string) ([]Marking, error) {
	base := d.marking(LetterCode, decimal(fmt.Sprintf("%s.%s", whole, frac), m.exponent))
	base.rank = rankOf(m)
	if m.unsure {
		base.note("a small m on a resistor may be milli or mega: ask, or measure")
	}
	reading, hasUnit, err := d.tail(base)
	if err != nil {
		return nil, err
	}
	if m.coil && !d.known && !hasUnit {
		return nil, d.errorf("for an inductor write the unit, as in 22uH")
	}
	return []Marking{reading}, nil
}

// rankOf doubts what could as well be something else.
func rankOf(m multiplier) int {
	switch {
	case m.unsure:
		return 1
	case m.inside:
		return 1 // R is ohm first
	}
	return 0
}

// tail reads an optional unit and an optional tolerance letter up to the end. A lone
// F or H is a tolerance here: where it can be a unit, withUnit has read it as one.
func (d *decoder) tail(base Marking) (m Marking, hasUnit bool, err error) {
	rest := canonical(d.rest())
	if letters, ok := d.cutUnit(rest); ok && (letters != "" || d.unit == Ohm) {
		m, err = d.finish(base, letters)
		return m, true, err
	}
	m, err = d.finish(base, rest)
	return m, false, err
}

// cutUnit takes the unit off the rest.
func (d *decoder) cutUnit(rest string) (string, bool) {
	names := map[Unit][]string{Ohm: {"Ω", "ohm", "Ohm"}, Farad: {"F"}, Henry: {"H"}}[d.unit]
	for _, name := range names {
		if after, ok := strings.CutPrefix(rest, name); ok {
			return after, true
		}
	}
	return rest, false
}

// finish reads a tolerance letter, the last of a code.
func (d *decoder) finish(base Marking, rest string) (Marking, error) {
	runes := []rune(rest)
	d.pos = len(d.runs) - len(runes)
	if len(runes) == 0 {
		return base, nil
	}
	letter := runes[0]
	if d.unit == Ohm && base.Code == LetterCode { // 100n is no 10 Ω of 30 %
		if strings.ContainsRune(smallScales, letter) {
			return base, d.errorf("a second scale or unit, %c, behind the value: write one; tolerance letters of the same shape are capitals", letter)
		}
		letter = unicode.ToUpper(letter)
	}
	m, ok := base.withTolerance(letter)
	switch {
	case !ok && isDigit(letter):
		return m, d.errorf("figures behind the end of the value: write the number in one piece")
	case !ok && unicode.IsLower(letter) && isTolerance(unicode.ToUpper(letter)):
		return m, d.errorf("tolerance letters are capitals: write %c", unicode.ToUpper(letter))
	case !ok:
		return m, d.errorf("%c is no tolerance letter: J is 5 %%, K 10 %%, M 20 %%", letter)
	case len(runes) > 1:
		d.pos++
		return m, d.errorf("something follows the tolerance letter %c, which is the last of a marking", letter)
	}
	return m, nil
}

// smallScales are small letters that are prefixes, decimal marks or units, and so no
// tolerance even on a resistor: 4k7k is a slip.
const smallScales = "pnuµμmkgtrlfh"

func isTolerance(letter rune) bool {
	_, _, ok := letterPercent(letter)
	return ok || letter == 'A'
}
