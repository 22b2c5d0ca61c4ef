package parts

import (
	"fmt"
	"strings"
	"unicode"
)

// suffix reads an optional prefix and an optional unit up to the end of the
// text, and returns the prefix's decimal exponent. No prefix may follow where
// the number was scaled already.
func (s *scanner) suffix(scaled bool) (int, error) {
	rest := canonical(string(s.runs[s.pos:]))
	if rest == "" || s.unit.named(rest, scaled) {
		return 0, nil
	}
	p, ok := s.prefix([]rune(rest)[0])
	tail := strings.TrimLeft(string([]rune(rest)[1:]), spaces)
	switch {
	case !ok:
		return 0, s.unknownSuffix(rest)
	case scaled && (tail == "" || s.unit.named(tail, true)):
		return 0, s.errorf("a second scale: write one prefix or one exponent")
	case tail != "" && !s.unit.named(tail, true):
		return 0, s.unknownSuffix(rest)
	}
	return p.exponent, s.checkPrefix(p, tail == "")
}

// prefix returns the prefix that a letter stands for. Capital N, U and P are read as
// small ones where farad or henry is written behind them: old parts have 100NF.
func (s *scanner) prefix(letter rune) (prefix, bool) {
	if strings.ContainsRune("NUP", letter) && (s.unit == Farad || s.unit == Henry) {
		if last := s.runs[len(s.runs)-1]; unitLetters[unicode.ToUpper(last)] == s.unit {
			letter = unicode.ToLower(letter)
		}
	}
	return findPrefix(letter)
}

// canonical writes the look-alike of the capital omega as the letter.
func canonical(text string) string { return strings.ReplaceAll(text, "\u2126", "Ω") }

// checkPrefix refuses mega-farads and their like, and an f without a unit.
func (s *scanner) checkPrefix(p prefix, bare bool) error {
	info := s.unit.info()
	if bare && p.letters == "f" {
		return s.errorf("a lone f may be farad or femto: write F, or the prefix p")
	}
	if p.exponent <= info.most {
		return nil
	}
	number := strings.TrimSpace(string(s.runs[:s.pos]))
	return s.errorf("%s-%s? write %s m%s or %s µ%s", p.word, info.word, number, info.symbol, number, info.symbol)
}

// unknownSuffix explains what follows the number and is not understood there.
func (s *scanner) unknownSuffix(rest string) error {
	if isDigit([]rune(rest)[0]) {
		return s.errorf("digits after a space: write the number in one piece")
	}
	if lower := strings.ToLower(rest); lower == "mfd" || lower == "mmfd" {
		return s.errorf("%s on old parts is micro or micro-micro: write µF or pF", rest)
	}
	for u := range units {
		other := Unit(u)
		if other != s.unit && (other.named(rest, false) || other.named(string([]rune(rest)[1:]), true)) {
			return s.errorf("%q is a value in %s where %s is expected", rest, other.info().word, s.unit.info().word)
		}
	}
	return s.errorf("%q is not understood: write a value such as %s", shorten(rest), s.unit.example())
}

// example is a value as it may be written, for messages.
func (u Unit) example() string {
	switch u {
	case Ohm:
		return "4k7 or 4.7 kΩ"
	case Farad:
		return "100n or 0.1 µF"
	case Henry:
		return "4m7 or 4.7 mH"
	case Hertz:
		return "1k or 1 kHz"
	case None:
		return "0.5"
	}
	return fmt.Sprintf("1.2 or 1.2 %s", u)
}
