package parts

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// ParseValue reads a value that is zero or more, as the trade writes it.
//
//	4700  4.7k  4,7 kΩ  4k7  4.7e3     ohm
//	10µF  10 uF  0.01mF  1e-5          farad
//	2R2  R47  1M  1m                   R and the prefix may stand for the decimal mark
//
// The result is in the SI base unit, and is the float64 nearest to the decimal
// number that was written. The unit letter and a space before prefix or unit
// may be left out. Both code points of µ (U+00B5, U+03BC) and of Ω (U+2126,
// U+03A9) are understood. The decimal mark is one point or one comma, and there
// are no thousands marks: 1,000 is one. m is milli and M is mega; M, G and T
// are refused for farad and henry, where they are always a slip for m or µ; N, U and
// P are read as n, u and p where one of these two units follows (100NF).
// An exponent and a prefix exclude each other, and so do two decimal marks.
//
// Errors are *SyntaxError. Signs, NaN and infinities are refused, and so are
// values with a unit beyond 1e-30 and 1e30, whose squares leave the range of a
// float64.
func ParseValue(text string, unit Unit) (float64, error) {
	if err := checkText(text); err != nil {
		return 0, err
	}
	s := newScanner(text, unit)
	return s.value()
}

// ParsePositive reads a value like ParseValue and refuses zero: a reference
// resistor, a frequency or a full scale of nothing is a mistake.
func ParsePositive(text string, unit Unit) (float64, error) {
	v, err := ParseValue(text, unit)
	if err == nil && v == 0 {
		err = &SyntaxError{Text: text, Column: 1, Reason: "zero makes no sense here: write a value above it"}
	}
	return v, err
}

// ParseSigned reads a value like ParseValue and allows one sign before it, for
// residuals of standards that may lie on either side of zero.
func ParseSigned(text string, unit Unit) (float64, error) {
	if err := checkText(text); err != nil {
		return 0, err
	}
	s := newScanner(text, unit)
	negative := false
	if !isSign(s.peek(1)) {
		negative = s.takeAny("-\u2212")
		_ = negative || s.takeAny("+")
	}
	v, err := s.value()
	if negative {
		v = -v
	}
	return v, err
}

// scanner walks through one text, character by character.
type scanner struct {
	text string
	runs []rune
	pos  int
	unit Unit
	tens int // a decimal exponent to add, as of a percentage
}

func newScanner(text string, unit Unit) *scanner {
	s := &scanner{text: text, runs: []rune(strings.TrimRight(text, spaces)), unit: unit}
	s.skipSpaces()
	return s
}

// spaces that may stand between a number and its unit, no-break space included.
const spaces = " \t\u00a0\u202f"

func (s *scanner) errorf(format string, args ...any) error {
	return &SyntaxError{Text: s.text, Column: s.pos + 1, Reason: fmt.Sprintf(format, args...)}
}

// peek returns the character at the given distance ahead, or 0 past the end.
func (s *scanner) peek(ahead int) rune {
	if s.pos+ahead < len(s.runs) {
		return s.runs[s.pos+ahead]
	}
	return 0
}

// takeAny moves over one character when it is among those given.
func (s *scanner) takeAny(letters string) bool {
	if r := s.peek(0); r != 0 && strings.ContainsRune(letters, r) {
		s.pos++
		return true
	}
	return false
}

func (s *scanner) skipSpaces() {
	for s.takeAny(spaces) {
	}
}

func isDigit(r rune) bool { return r >= '0' && r <= '9' }

func isSign(r rune) bool { return r == '-' || r == '+' || r == '\u2212' }

// digits takes the decimal digits at hand.
func (s *scanner) digits() string {
	start := s.pos
	for isDigit(s.peek(0)) {
		s.pos++
	}
	return string(s.runs[start:s.pos])
}

// value reads the whole rest of the text as one number without sign.
func (s *scanner) value() (float64, error) {
	if err := s.checkStart(); err != nil {
		return 0, err
	}
	start := s.pos
	whole := s.digits()
	frac, exponent, marked, err := s.fraction()
	if err != nil {
		return 0, err
	}
	if whole+frac == "" {
		s.pos = start
		return 0, s.errorf("no number: write a value such as %s", s.unit.example())
	}
	tail, err := s.exponentOrSuffix(marked)
	if err != nil {
		return 0, err
	}
	return s.assemble(whole, frac, exponent+tail, start)
}

// checkStart refuses what a value cannot begin with, each with its reason.
func (s *scanner) checkStart() error {
	rest := strings.ToLower(string(s.runs[s.pos:]))
	switch first := s.peek(0); {
	case rest == "":
		return s.errorf("empty: write a value such as %s", s.unit.example())
	case isSign(first) && isSign(s.peek(1)):
		return s.errorf("two signs: write a value such as %s", s.unit.example())
	case first == '-' || first == '\u2212':
		return s.errorf("negative: write a value of zero or more")
	case first == '+':
		return s.errorf("a sign is not wanted here: leave it out")
	case strings.HasPrefix(rest, "nan") || strings.HasPrefix(rest, "inf") || first == '∞':
		return s.errorf("not a number: write a value such as %s", s.unit.example())
	}
	return nil
}

// fraction reads a decimal mark and the digits behind it. A letter that stands
// for the mark gives its decimal exponent along with them, and marked is set.
func (s *scanner) fraction() (frac string, exponent int, marked bool, err error) {
	switch {
	case s.takeAny(".,"):
		frac = s.digits()
	case isDigit(s.peek(1)):
		exponent, marked, err = s.letterMark()
		if marked && err == nil {
			frac = s.digits()
		}
	}
	if err == nil && (s.peek(0) == '.' || s.peek(0) == ',') {
		err = s.errorf("a second decimal mark: write one mark, and no thousands marks")
	}
	return frac, exponent, marked, err
}

// letterMark moves over a letter that stands for the decimal mark.
func (s *scanner) letterMark() (exponent int, marked bool, err error) {
	letter := s.peek(0)
	if mark := s.unit.info().mark; mark != 0 && letter == mark {
		s.pos++
		return 0, true, nil
	}
	p, ok := s.prefix(letter)
	if !ok {
		return 0, false, nil
	}
	if err := s.checkPrefix(p, letter == 'f'); err != nil {
		return 0, false, err
	}
	s.pos++
	return p.exponent, true, nil
}

// exponentOrSuffix reads what follows the digits and returns its decimal exponent.
func (s *scanner) exponentOrSuffix(marked bool) (int, error) {
	exponent, scaled, err := s.exponent()
	if err != nil {
		return 0, err
	}
	if scaled && marked {
		return 0, s.errorf("an exponent after a prefix: write one of the two")
	}
	s.skipSpaces()
	tail, err := s.suffix(scaled || marked)
	return exponent + tail, err
}

// exponent reads e-9 and the like. Without digits an e is no exponent.
func (s *scanner) exponent() (int, bool, error) {
	if r := s.peek(0); r != 'e' && r != 'E' {
		return 0, false, nil
	}
	start := s.pos
	s.pos++
	sign := ""
	switch {
	case s.takeAny("-\u2212"):
		sign = "-"
	case s.takeAny("+"):
	}
	digits := s.digits()
	if digits == "" {
		return 0, false, s.errorf("no digits in the exponent: write it as in 1e-9")
	}
	n, err := strconv.Atoi(sign + digits)
	if err != nil || n < -9999 || n > 9999 {
		s.pos = start
		return 0, false, s.errorf("exponent %s%s is out of range", sign, digits)
	}
	return n, true, nil
}

// assemble lets the standard library round the decimal number once, so that
// 0.01 m and 10 µ are the very same float64.
func (s *scanner) assemble(whole, frac string, exponent, start int) (float64, error) {
	v, err := strconv.ParseFloat(whole+"."+frac+"e"+strconv.Itoa(exponent+s.tens), 64)
	s.pos = start
	if err != nil || math.IsInf(v, 0) {
		return 0, s.errorf("too large a number")
	}
	if v == 0 && strings.Trim(whole+frac, "0") != "" {
		return 0, s.errorf("too small a number: write 0 if none is meant")
	}
	if s.unit != None && v != 0 && (v < leastValue || v > mostValue) {
		return 0, s.errorf("%g %s is beyond anything that can be measured: write a value from %g to %g", v, s.unit.info().word, leastValue, mostValue)
	}
	return v, nil
}

// Values of a unit, if not zero, lie between these: far beyond any part, and such that
// products of a few of them stay within the range of a float64.
const (
	leastValue = 1e-30
	mostValue  = 1e30
)
