package parts

import "strings"

// Likeliest picks what people mean where a value without a unit fits several kinds of
// parts: p, n and µ are usual for capacitors, everything else for resistors. Inductors
// are written with their unit. The list must not be empty.
func Likeliest(readings []Marking, text string) Marking {
	want := Ohm
	plain, _, _ := strings.Cut(text, "/")
	switch {
	case strings.HasSuffix(strings.TrimSpace(plain), "H"): // a unit sooner than a tolerance letter
		want = Henry
	case strings.ContainsAny(text, "pnuµμ"):
		want = Farad
	}
	for _, m := range readings {
		if m.Unit == want {
			return m
		}
	}
	return readings[0]
}

// Expect reads what a person expects a part to be, and picks the likeliest meaning. A
// number with H behind it is an inductance sooner than a marking with that tolerance
// letter or code: 10H is 10 henries. Errors are *SyntaxError, as of Read.
func Expect(text string, unit Unit) (Marking, error) {
	plain, tolerance, given := strings.Cut(text, "/")
	number, isHenry := strings.CutSuffix(strings.TrimSpace(plain), "H")
	if _, err := ParsePositive(number, None); unit == None && isHenry && err == nil && strings.Trim(number, "0123456789.,") == "" {
		text, unit = number+" H", Henry // set apart it can be nothing else
		if given {
			text += "/" + tolerance
		}
	}
	readings, err := Read(text, unit)
	if err != nil {
		return Marking{}, err
	}
	return Likeliest(readings, text), nil
}
