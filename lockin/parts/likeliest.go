package parts

import "strings"

// Likeliest picks what people mean where a value without a unit fits several kinds of
// parts: p, n and µ are usual for capacitors, everything else for resistors. Inductors
// are written with their unit. The list must not be empty.
func Likeliest(readings []Marking, text string) Marking {
	want := Ohm
	if strings.ContainsAny(text, "pnuµμ") {
		want = Farad
	}
	for _, m := range readings {
		if m.Unit == want {
			return m
		}
	}
	if len(readings) == 0 {
		return Marking{}
	}
	return readings[0]
}

// Expect reads what a person expects a part to be, and picks the likeliest meaning.
// Errors are *SyntaxError, as of Read.
func Expect(text string, unit Unit) (Marking, error) {
	readings, err := Read(text, unit)
	if err != nil {
		return Marking{}, err
	}
	return Likeliest(readings, text), nil
}
