package parts_test

import (
	"fmt"
	"strings"
	"testing"

	"example.org/wheatear/lockin/parts"
)

// F and H behind a value are its unit, for every prefix and way to write the number,
// whether the kind of part is known or not; the other reading stands in a note.
func TestUnitNotTolerance(t *testing.T) {
	values := map[string]float64{
		"100n": 1e-7, "4n7": 4.7e-9, "10m": 10e-3, "1m": 1e-3, "10000u": 10e-3, "10000µ": 10e-3, "22u": 22e-6, "47p": 47e-12, "p47": 0.47e-12,
		"100N": 1e-7, "10U": 10e-6, "47P": 47e-12, "4N7": 4.7e-9, "104": 104, "10": 10, "1": 1, "1002": 1002, "0.1": 0.1, "4.7u": 4.7e-6, "1e-6": 1e-6,
	}
	for number, want := range values {
		for letter, unit := range map[string]parts.Unit{"F": parts.Farad, "H": parts.Henry, " F": parts.Farad, " H": parts.Henry} {
			if unit == parts.Henry && (want > 1e3 || want < 1e-10) {
				continue // there are no such inductors
			}
			text := number + letter
			for _, kind := range []parts.Unit{parts.None, unit} {
				got, err := parts.Read(text, kind)
				if err != nil || len(got) != 1 || got[0].Unit != unit || got[0].Tolerance.Given() || fmt.Sprintf("%.9g", got[0].Value) != fmt.Sprintf("%.9g", want) {
					t.Errorf("%q as %q: %v, %v; want %g %s alone", text, kind, got, err, want, unit)
				}
			}
			if v, err := parts.ParseValue(text, unit); err != nil || fmt.Sprintf("%.9g", v) != fmt.Sprintf("%.9g", want) {
				t.Errorf("ParseValue(%q): %g, %v", text, v, err)
			}
			for _, other := range []parts.Unit{parts.Farad, parts.Henry} {
				if got, err := parts.Read(text, other); other != unit && err == nil {
					t.Errorf("%q, said to be in %s, is read as %v", text, other, got)
				}
			}
		}
	}
	for text, want := range map[string]string{
		"100nF": "as the tolerance letter of a marking it would be a capacitor of 100 nF, 1 %",
		"104F":  "a capacitor of 100 nF, 1 %, or a resistor of 100 kΩ, 1 %, or an inductor",
		"22uH":  "a capacitor of 22 µF, 3 %",
	} {
		got, err := parts.Decode(text, parts.None)
		if err != nil || !strings.Contains(strings.Join(got[0].Notes, ""), want) {
			t.Errorf("%s: notes %q, %v; want %q", text, got[0].Notes, err, want)
		}
	}
}

// Where no unit can be meant, the letter is the tolerance, as on resistors.
func TestToleranceNotUnit(t *testing.T) {
	for _, c := range []struct {
		text string
		unit parts.Unit
		want string
	}{
		{"4K7F", parts.None, "4K7F: 4.7 kΩ, 1 %"},
		{"2k2F", parts.None, "2k2F: 2.2 kΩ, 1 %"},
		{"10KF", parts.None, "10KF: 10 kΩ, 1 %"},
		{"4R7H", parts.None, "4R7H: 4.7 Ω, 3 %"},
		{"1M5F", parts.None, "1M5F: 1.5 MΩ, 1 %"},
		{"104F", parts.Ohm, "104F: 100 kΩ, 1 %"},
		{"66H", parts.Ohm, "66H: 4.75 kΩ"}, // a code of E96
		{"01F", parts.Ohm, "01F: 10 MΩ"},
		{"1MF", parts.Ohm, "1MF: 1 MΩ, 1 %"},
		{"100nJ", parts.None, "100nJ: 100 nF, 5 %"},
		{"22uHK", parts.None, "22uHK: 22 µH, 10 %"},
		{"100nF/1%", parts.None, "100nF/1%: 100 nF, 1 %"},
	} {
		if got, err := parts.Read(c.text, c.unit); err != nil || got[0].String() != c.want {
			t.Errorf("%s: %v, %v; want %s", c.text, got, err, c.want)
		}
	}
	for _, c := range []struct {
		text string
		unit parts.Unit
		says string
	}{
		{"1MF", parts.None, "mega-farad"}, {"22MH", parts.None, "mega-henry"}, {"10MF", parts.Farad, "multiplies no farad"}, {"10mF", parts.Ohm, "farad where ohm"},
		{"100nF", parts.Ohm, "farad where ohm"}, {"4k7k", parts.None, "second scale"}, {"4k7k", parts.Ohm, "second scale"}, {"1kk", parts.None, "second scale"},
		{"4k7m", parts.None, "second scale"}, {"100nH", parts.Farad, "henry where farad"},
	} {
		if got, err := parts.Read(c.text, c.unit); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s as %q: %v, %v; want %q", c.text, c.unit, got, err, c.says)
		}
	}
}
