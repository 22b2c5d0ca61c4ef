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
