package parts

import (
	"fmt"
	"slices"
	"strings"
)

// Decode reads what is marked on a part: letter-and-digit codes (4K7J, 4n7K),
// figures with an exponent (472, 4992), the codes of three and of two characters
// (66B, A5), and colour bands (yellow violet red gold).
//
// Unit says what the part is: Ohm, Farad or Henry. With None it is not known, and
// the readings as each of them are returned: 472 is 4.7 nF, 4.7 kΩ or 4.7 mH.
// There may be several readings of one kind, too; the most plausible comes first.
//
// Capital and small letters differ, but for resistors. A small m on a resistor is
// read both ways, milli and mega, with a note.
//
// F and H behind a value are its unit, never the tolerance, wherever a value can be
// so written: 100nF has no tolerance, 10H is ten henries. A note says what the letter
// would mean as a tolerance. On resistors they are tolerance letters: 4K7F is of 1 %.
//
// Errors are *SyntaxError and say at which character. Source: IEC 60062:2016 with
// Amendment 1:2019.
func Decode(text string, unit Unit) ([]Marking, error) {
	if err := checkText(text); err != nil {
		return nil, err
	}
	if unit != None && unit.part() == "part" {
		return nil, &SyntaxError{Text: text, Column: 1, Reason: fmt.Sprintf("parts are marked in ohm, farad or henry, not in %s", unit.info().word)}
	}
	s := newScanner(text, unit)
	if s.peek(0) == 0 {
		return nil, s.errorf("empty: write a marking such as 4K7J, 4n7K, 472, 66B, A5 or red-red-brown-gold")
	}
	if isBands(text) {
		return bandReadings(text, unit)
	}
	if err := s.checkCharacters(); err != nil {
		return nil, err
	}
	if readings, err := s.withUnit(); readings != nil || err != nil {
		return readings, err
	}
	return decodeCodes(text, unit)
}

// checkCharacters refuses what occurs in no code.
func (s *scanner) checkCharacters() error {
	if len(s.runs)-s.pos > longestCode {
		s.pos += longestCode
		return s.errorf("too long for a marking of letters and digits")
	}
	for i := s.pos; i < len(s.runs); i++ {
		if r := s.runs[i]; !isDigit(r) && !isLetter(r) {
			s.pos = i
			return s.errorf("%q is in no marking: codes are letters and digits alone, such as 4K7J, 4n7K or 472", r)
		}
	}
	return nil
}

// longestCode is more than any code has, with unit and tolerance.
const longestCode = 12

func isLetter(r rune) bool {
	return r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || strings.ContainsRune("µμΩ\u2126", r)
}

// decodeCodes asks every code for every kind of part.
func decodeCodes(text string, unit Unit) ([]Marking, error) {
	var found []Marking
	var refused *SyntaxError
	sure := false // the code is known, and only what it says is wrong
	for _, u := range []Unit{Farad, Ohm, Henry} {
		if unit != None && unit != u {
			continue
		}
		for i, read := range []func(*decoder) ([]Marking, error){letterCode, digitCode, e96Code, twoCode, plainCode} {
			d := &decoder{scanner: newScanner(text, u), known: unit != None}
			readings, err := read(d)
			found = append(found, readings...)
			e, ok := err.(*SyntaxError)
			if better := refused == nil || !sure && i > 0 || sure == (i > 0) && e != nil && e.Column > refused.Column; ok && better {
				refused, sure = e, i > 0
			}
		}
	}
	switch {
	case len(found) > 0:
		slices.SortStableFunc(found, func(a, b Marking) int { return a.rank - b.rank })
		return found, nil
	case refused != nil:
		return nil, refused
	}
	return nil, &SyntaxError{Text: text, Column: 1, Reason: "no marking: write it as 4K7J, 4n7K, 472, 66B, A5 or red-red-brown-gold"}
}

// decoder reads one code for one kind of part, which is the unit of its scanner.
// A code that is not its own gives no reading and no error.
type decoder struct {
	*scanner
	known bool // the kind of part was said, not tried
}

// marking begins a reading.
func (d *decoder) marking(code Code, value float64) Marking {
	return Marking{Text: strings.Trim(d.text, spaces), Unit: d.unit, Value: value, Code: code}
}

// rest is what has not been read.
func (d *decoder) rest() string { return string(d.runs[d.pos:]) }
