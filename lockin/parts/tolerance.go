package parts

import "strings"

// ParseTolerance reads a relative tolerance and returns it as a fraction:
// "0.1%" is 1e-3, "100ppm" is 1e-4, "1e-3" is itself. A sign ± and a space
// before the unit are allowed.
//
// Errors are *SyntaxError: negative or infinite tolerances, more than 100 %,
// and a plain number of 1 or more, which is a percentage without its sign.
func ParseTolerance(text string) (rel float64, err error) {
	if err := checkText(text); err != nil {
		return 0, err
	}
	number, exponent := toleranceUnit(strings.TrimRight(text, spaces))
	s := newScanner(number, None)
	s.text, s.tens = text, exponent
	s.takeAny("±")
	s.skipSpaces()
	if err := s.checkTolerance(); err != nil {
		return 0, err
	}
	column := s.pos
	rel, err = s.value()
	if err != nil {
		return 0, err
	}
	s.pos = column
	return s.limitTolerance(rel, exponent == 0)
}

// toleranceUnit parts the number from its unit.
func toleranceUnit(text string) (number string, exponent int) {
	for _, u := range []struct {
		name     string
		exponent int
	}{{"%", -2}, {"ppm", -6}, {"ppb", -9}} {
		if n := len(text) - len(u.name); n >= 0 && strings.EqualFold(text[n:], u.name) {
			return text[:n], u.exponent
		}
	}
	return text, 0
}

// checkTolerance refuses prefixes, which a relative number does not have.
func (s *scanner) checkTolerance() error {
	if err := s.checkStart(); err != nil {
		return err
	}
	for i, r := range s.runs {
		if _, ok := findPrefix(r); ok {
			s.pos = i
			return s.errorf("a tolerance is relative: write it as 0.1%%, 100ppm or 1e-3")
		}
	}
	return nil
}

// limitTolerance refuses what no tolerance can be.
func (s *scanner) limitTolerance(rel float64, plain bool) (float64, error) {
	if plain && rel >= 1 {
		return 0, s.errorf("%g means %g %%: write %g%% if that is meant, or a fraction below 1", rel, 100*rel, rel)
	}
	if rel > 1 {
		return 0, s.errorf("more than 100 %% is no tolerance")
	}
	return rel, nil
}
