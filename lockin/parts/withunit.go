package parts

import (
	"strings"
	"unicode"
)

// unitLetters are units that are tolerance letters too.
var unitLetters = map[rune]Unit{'F': Farad, 'H': Henry}

// withUnit reads a value that ends in F or H as one with its unit. There is no reading
// and no error where the letter cannot be a unit there.
func (s *scanner) withUnit() ([]Marking, error) {
	text := strings.Trim(s.text, spaces)
	if s.isMega() {
		return nil, s.errorf("mega-farad or mega-henry? Write m or µ for the prefix, or 1M0F for a resistor with that tolerance letter")
	}
	unit, value, ok := unitBehind(text)
	switch {
	case !ok:
		return nil, nil
	case s.unit == Ohm && !strings.ContainsAny(text, "pnuµμmNUP"):
		return nil, nil // said to be a resistor, F and H are its tolerance: 104F, 10KF
	case s.unit != None && s.unit != unit:
		_, err := ParseValue(s.text, s.unit)
		return nil, err
	}
	m := Marking{Text: text, Unit: unit, Value: value, Code: WrittenNumber}
	if others := s.asTolerance(); others != "" {
		m.note(text[len(text)-1:] + " is read as the unit; as the tolerance letter of a marking it would be " + others)
	}
	return []Marking{m}, nil
}

// isMega reports 1MF and its like, which no kind of part was said of: too large for a
// unit, while resistors are marked 1M0F.
func (s *scanner) isMega() bool {
	head, ok := strings.CutSuffix(strings.TrimRight(string(s.runs[s.pos:]), "FH"), "M")
	last := s.runs[len(s.runs)-1]
	return ok && s.unit == None && unitLetters[last] != None && head != "" && strings.Trim(head, "0123456789") == ""
}

// unitBehind reads a value with farad or henry written behind it. It is none where
// that makes no part there is (10KF) or K is the decimal mark, which only resistors
// have (4K7F).
func unitBehind(text string) (unit Unit, value float64, ok bool) {
	runes := []rune(text)
	last := len(runes) - 1
	unit = unitLetters[unicode.ToUpper(runes[last])]
	if unit == None {
		return None, 0, false
	}
	number := string(runes[:last])
	if k := strings.IndexAny(number, "kK"); k >= 0 && k < len(number)-1 {
		return None, 0, false
	}
	value, err := ParseValue(text, unit)
	return unit, value, err == nil && plausible(value, unit)
}

// asTolerance lists what the text would be if its last letter were a tolerance.
func (s *scanner) asTolerance() string {
	readings, _ := decodeCodes(s.text, s.unit)
	var list []string
	for _, m := range readings {
		words := strings.TrimPrefix(m.String(), m.Text+": ")
		if m.Unit != s.unit {
			words = indefinite(m.Kind()) + " of " + words
		}
		list = append(list, words)
	}
	return strings.Join(list, ", or ")
}

// indefinite puts the article before a kind of part.
func indefinite(kind string) string {
	if kind == "inductor" {
		return "an " + kind
	}
	return "a " + kind
}
