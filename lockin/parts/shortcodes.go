package parts

import "strings"

// e96Code reads the three characters of small resistors: two figures for the
// place in E96, 01 for 100 up to 96 for 976, and a letter for the power of ten.
//
//	Z 10⁻³   Y R 10⁻²   X S 10⁻¹   A 1   B H 10   C 10²   D 10³   E 10⁴   F 10⁵
//
// Source: IEC 60062:2016, Annex A.
func e96Code(d *decoder) ([]Marking, error) {
	if d.unit != Ohm || len(d.runs)-d.pos != 3 {
		return nil, nil
	}
	figures := d.digits()
	exponent, ok := e96Exponent(d.peek(0))
	if len(figures) != 2 || !ok {
		return nil, nil
	}
	place := 10*int(figures[0]-'0') + int(figures[1]-'0')
	if place < 1 || place > int(E96) {
		d.pos -= 2
		return nil, d.errorf("%s is no place in E96: they run from 01 to 96", figures)
	}
	m := d.marking(E96Code, E96.scaled(E96.figures()[place-1], exponent+2))
	m.note("code of small E96 resistors, which are of 1 % mostly (common practice)")
	if len(d.fitting(d.peek(0))) > 0 {
		m.rank = 1 // 10R is ten ohm first
	}
	return []Marking{m}, nil
}

func e96Exponent(letter rune) (exponent int, ok bool) {
	exponent, ok = map[rune]int{'Z': -3, 'Y': -2, 'R': -2, 'X': -1, 'S': -1, 'A': 0, 'B': 1, 'H': 1, 'C': 2, 'D': 3, 'E': 4, 'F': 5}[letter]
	return exponent, ok
}

// Letters of the code of two characters: capitals are the members of E24 in
// order, small ones some values between.
const (
	twoCapitals = "ABCDEFGHJKLMNPQRSTUVWXYZ"
	twoSmall    = "abdefmnty"
)

// twoCode reads the two characters of small capacitors: a letter for the figures
// and a power of ten in pF, where 9 means 10⁻¹.
// Source: IEC 60062:2016/AMD1:2019, Annex B, from memory.
func twoCode(d *decoder) ([]Marking, error) {
	if d.unit != Farad || !isTwo(d.runs[d.pos:]) {
		return nil, nil
	}
	letter, digit := d.peek(0), d.peek(1)
	figures, ok := twoFigures(letter)
	if !ok {
		return nil, d.errorf("%c stands for no value in the code of two characters, %s and %s", letter, twoCapitals, twoSmall)
	}
	exponent := int(digit - '0')
	if exponent == 9 {
		exponent = -1
	}
	m := d.marking(TwoCode, decimal(figures, exponent-1+baseExponent(Farad)))
	if strings.ContainsRune("RKMGTLpnm", letter) {
		m.rank = 1 // n1 is 0.1 nF first, and K5 500 Ω
	}
	return []Marking{m}, nil
}

// isTwo reports whether a text is a letter and a digit.
func isTwo(runes []rune) bool { return len(runes) == 2 && !isDigit(runes[0]) && isDigit(runes[1]) }

// twoFigures returns the two figures that a letter stands for.
func twoFigures(letter rune) (string, bool) {
	if i := strings.IndexRune(twoCapitals, letter); i >= 0 {
		f := E24.figures()[i]
		return string([]byte{byte('0' + f/10), byte('0' + f%10)}), true
	}
	i := strings.IndexRune(twoSmall, letter)
	if i < 0 {
		return "", false
	}
	return [...]string{"25", "35", "40", "45", "50", "60", "70", "80", "90"}[i], true
}

// plainCode reads one or two figures, in ohm or, with an optional tolerance
// letter, in pF (common practice, no source).
func plainCode(d *decoder) ([]Marking, error) {
	figures := d.digits()
	if figures == "" || len(figures) > 2 || figures[0] == '0' || d.unit == Henry {
		return nil, nil
	}
	if rest := len([]rune(d.rest())); rest > 1 || rest == 1 && d.unit == Ohm {
		return nil, nil
	}
	m := d.marking(PlainCode, decimal(figures, baseExponent(d.unit)))
	m.rank = 2
	m.note("plain figures, common practice")
	m, err := d.finish(m, d.rest())
	if err != nil {
		return nil, nil // a letter code, which says so better
	}
	return []Marking{m}, nil
}
