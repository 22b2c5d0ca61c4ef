package parts_test

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"example.org/wheatear/lockin/parts"
)

// Every marking gives the very float64 of the value: the decoder rounds once.
func TestMarkings(t *testing.T) {
	for _, c := range markings {
		got, err := parts.Decode(c.code, c.unit)
		if err != nil || got[0].Value != c.want || got[0].Unit != c.unit || got[0].Text != c.code {
			t.Errorf("%s as %s: got %v, %v; want %v", c.code, c.unit, got, err, c.want)
		}
		any, err := parts.Decode(c.code, parts.None)
		found := false
		for _, m := range any {
			found = found || m.Unit == c.unit && m.Value == c.want
		}
		if err != nil || !found {
			t.Errorf("%s of unknown kind: %v, %v; want %v %s among them", c.code, any, err, c.want, c.unit)
		}
	}
	if len(markings) < 40 {
		t.Errorf("only %d markings", len(markings))
	}
}

// What one marking means in words, of each kind of part where it is not known.
func TestWordsOfMarkings(t *testing.T) {
	for _, c := range []struct {
		text string
		unit parts.Unit
		want []string
	}{
		{"4n7K", parts.None, []string{"4n7K: 4.7 nF, 10 %"}},
		{"472", parts.None, []string{"472: 4.7 nF", "472: 4.7 kΩ", "472: 4.7 mH"}},
		{"4K7J", parts.None, []string{"4K7J: 4.7 kΩ, 5 %"}},
		{"4k7j", parts.Ohm, []string{"4k7j: 4.7 kΩ, 5 %"}},
		{"104K", parts.Farad, []string{"104K: 100 nF, 10 %"}},
		{"104K", parts.Ohm, []string{"104K: 104 kΩ"}},                       // K multiplies before it tolerates
		{"104F", parts.Farad, []string{"104F: 100 nF, 1 %", "104F: 104 F"}}, // and F may be farad
		{"4p7C", parts.Farad, []string{"4p7C: 4.7 pF, 0.25 pF"}},            // picofarads below ten
		{"10pC", parts.Farad, []string{"10pC: 10 pF, 0.25 %"}},              // and per cent from there on
		{"9p1J", parts.Farad, []string{"9p1J: 9.1 pF, 5 %"}},                // J is per cent always
		{"47pJ", parts.Farad, []string{"47pJ: 47 pF, 5 %"}},
		{"4R7C", parts.Ohm, []string{"4R7C: 4.7 Ω, 0.25 %"}},
		{"100nZ", parts.Farad, []string{"100nZ: 100 nF, -20/+80 %"}},
		{"100nF", parts.None, []string{"100nF: 100 nF", "100nF: 100 nF, 1 %"}}, // the unit, or 1 %
		{"4n7F", parts.None, []string{"4n7F: 4.7 nF, 1 %", "4n7F: 4.7 nF"}},
		{"22uH", parts.None, []string{"22uH: 22 µH", "22uH: 22 µF, 3 %"}},
		{"22uHK", parts.None, []string{"22uHK: 22 µH, 10 %"}},
		{"22u", parts.None, []string{"22u: 22 µF"}},
		{"100n", parts.None, []string{"100n: 100 nF"}}, // and not 10 Ω of 30 %
		{"22u", parts.Henry, []string{"22u: 22 µH"}},
		{"47nFK", parts.None, []string{"47nFK: 47 nF, 10 %"}},
		{"4k7ΩJ", parts.None, []string{"4k7ΩJ: 4.7 kΩ, 5 %"}},
		{"4m7", parts.Ohm, []string{"4m7: 4.7 mΩ", "4m7: 4.7 MΩ"}}, // worth a question
		{"4M7", parts.Ohm, []string{"4M7: 4.7 MΩ"}},
		{"10R", parts.Ohm, []string{"10R: 10 Ω", "10R: 1.24 Ω"}},        // the tenth of E96, /100
		{"47K", parts.None, []string{"47K: 47 kΩ", "47K: 47 pF, 10 %"}}, // a disc with three characters
		{"R47", parts.None, []string{"R47: 0.47 Ω", "R47: 0.47 pF", "R47: 470 nH"}},
		{"0", parts.None, []string{"0: link, 0 Ω"}},
		{"0R0", parts.None, []string{"0R0: link, 0 Ω"}},
		{"μ10", parts.Farad, []string{"μ10: 100 nF"}},
		{" 4K7 ", parts.None, []string{"4K7: 4.7 kΩ"}},
		{"yellow violet red gold", parts.None, []string{"yellow violet red gold: 4.7 kΩ, 5 %"}},
		{"Red, Red, Silver", parts.Ohm, []string{"Red, Red, Silver: 0.22 Ω, 20 %"}},
		{"red-red-silver-gold", parts.Ohm, []string{"red-red-silver-gold: 0.22 Ω, 5 %"}},
		{"brown black black brown brown", parts.Ohm, []string{"brown black black brown brown: 1 kΩ, 1 %", "brown black black brown brown: 110 Ω, 1 %"}},
		{"green blue pink gold", parts.Ohm, []string{"green blue pink gold: 56 mΩ, 5 %"}},
		{"purple green black brown purple orange", parts.Ohm, []string{"purple green black brown purple orange: 7.5 kΩ, 0.1 %, 15 ppm/K"}},
		{"black", parts.Ohm, []string{"black: link, 0 Ω"}},
		{"red red black none", parts.Ohm, []string{"red red black none: 22 Ω, 20 %"}},
	} {
		got, err := parts.Decode(c.text, c.unit)
		var words []string
		for _, m := range got {
			words = append(words, m.String())
		}
		if err != nil || fmt.Sprintf("%q", words) != fmt.Sprintf("%q", c.want) {
			t.Errorf("%q: got %q, %v; want %q", c.text, words, err, c.want)
		}
	}
}

// malformed markings: the kind of part, the character at fault and a word of why.
var malformed = []struct {
	text   string
	unit   parts.Unit
	column int
	says   string
}{
	{"", parts.None, 1, "empty"},
	{"   ", parts.None, 1, "empty"},
	{"K", parts.None, 2, "no figures"},
	{"RJ", parts.Ohm, 2, "no figures"},
	{"4n7X", parts.None, 4, "no tolerance letter"},
	{"472X", parts.None, 4, "no tolerance letter"},
	{"4n7k", parts.None, 4, "capitals: write K"},
	{"4n7KJ", parts.None, 5, "follows the tolerance letter"},
	{"4K7K7", parts.None, 5, "follows the tolerance letter"},
	{"4n7n", parts.None, 4, "capitals: write N"},
	{"4K7", parts.Farad, 2, "multiplies ohm"},
	{"4M7", parts.Farad, 2, "capital M multiplies no farad"},
	{"4N7", parts.Farad, 2, "capital N multiplies no farad"},
	{"47k", parts.Farad, 3, "multiplies ohm"},
	{"4n7", parts.Ohm, 2, "multiplies no ohm"},
	{"4K7", parts.Henry, 2, "multiplies no henry"},
	{"12345", parts.None, 5, "three or four"},
	{"047", parts.None, 1, "leading zero"},
	{"00000", parts.Ohm, 5, "up to four zeros"},
	{"0p0", parts.None, 4, "value of nothing"},
	{"0K0", parts.Ohm, 4, "value of nothing"},
	{"479", parts.Henry, 3, "no coil"},
	{"00A", parts.None, 1, "no place in E96"},
	{"97A", parts.Ohm, 1, "no place in E96"},
	{"I5", parts.None, 1, "no value in the code of two"},
	{"O3", parts.Farad, 1, "no value in the code of two"},
	{"c4", parts.Farad, 1, "no value in the code of two"},
	{"4X", parts.None, 2, "no multiplier"},
	{"10R", parts.Henry, 4, "decimal mark"},
	{"12345K", parts.Ohm, 5, "figures"},
	{"1K234567", parts.Ohm, 9, "6 figures behind"},
	{"4.7k", parts.None, 2, "in no marking"},
	{"4-7", parts.None, 2, "in no marking"},
	{"4K7 J", parts.None, 4, "in no marking"},
	{"4K7JJJJJJJJJJJJJ", parts.None, 13, "too long"},
	{"4\xff7", parts.None, 2, "UTF-8"},
	{strings.Repeat("9", 5000), parts.None, 1, "too long"},
	{"4K7", parts.Volt, 1, "not in volt"},
	{"red red", parts.None, 8, "2 bands"},
	{"brown", parts.None, 6, "one brown band"},
	{"red red red red red red red", parts.None, 25, "7 bands"},
	{"red blue mauve", parts.None, 10, "no colour"},
	{"gold red violet yellow", parts.None, 1, "other end it is 4.7 kΩ"},
	{"red gold red gold", parts.None, 5, "no figure"},
	{"red red none gold", parts.None, 9, "no multiplier"},
	{"red black gold black", parts.None, 16, "no tolerance"},
	{"red red red red red white", parts.None, 21, "no temperature coefficient"},
	{"black black red gold", parts.None, 1, "value of nothing"},
	{"red red red", parts.Farad, 1, "resistors only"},
}

func TestMalformedMarkings(t *testing.T) {
	for _, c := range malformed {
		got, err := parts.Decode(c.text, c.unit)
		if len(got) > 0 {
			t.Errorf("%.30q as %s is read as %v", c.text, c.unit, got)
			continue
		}
		checkRefusal(t, c.text, 0, err, c.column, c.says)
	}
}

// All places of E96 and all its multipliers, all letters of the two characters.
func TestShortCodes(t *testing.T) {
	for i, m := range parts.E96.Members() {
		for letters, exponent := range map[string]int{"Z": -3, "YR": -2, "XS": -1, "A": 0, "BH": 1, "C": 2, "D": 3, "E": 4, "F": 5} {
			for _, letter := range letters {
				code := fmt.Sprintf("%02d%c", i+1, letter)
				want, _ := strconv.ParseFloat(fmt.Sprintf("%.0fe%d", 100*m, exponent), 64)
				got, err := parts.Decode(code, parts.Ohm)
				if err != nil || got[len(got)-1].Value != want || got[len(got)-1].Code != parts.E96Code {
					t.Errorf("%s: %v, %v; want %g", code, got, err, want)
				}
			}
		}
	}
	for _, pair := range strings.Fields(twoCharacters) {
		letter, figures, _ := strings.Cut(pair, "=")
		for digit := range 10 {
			exponent := digit
			if digit == 9 {
				exponent = -1
			}
			want, _ := strconv.ParseFloat(fmt.Sprintf("%se%d", figures, exponent-12), 64)
			got, err := parts.Decode(fmt.Sprint(letter, digit), parts.Farad)
			if err != nil || got[len(got)-1].Value != want || got[len(got)-1].Code != parts.TwoCode {
				t.Errorf("%s%d: %v, %v; want %g", letter, digit, got, err, want)
			}
		}
	}
}

// Each colour in each place. Source: IEC 60062:2016, clause 3; grey from texts
// that name this edition, 0.05 % before.
func TestColours(t *testing.T) {
	names := strings.Fields("black brown red orange yellow green blue violet grey white")
	tolerances := []float64{0, 1, 2, 0.05, 0.02, 0.5, 0.25, 0.1, 0.01, 0}
	coefficients := []float64{250, 100, 50, 15, 25, 20, 10, 5, 1, 0}
	for i, name := range names {
		got, err := parts.Decode("yellow "+name+" black "+name+" brown brown", parts.Ohm)
		want, _ := strconv.ParseFloat(fmt.Sprintf("4%d0e%d", i, i), 64)
		if err != nil || got[0].Value != want {
			t.Errorf("%s: %v, %v; want %g", name, got, err, want)
		}
		got, err = parts.Decode("red red black brown "+name, parts.Ohm)
		if tolerances[i] == 0 {
			checkRefusal(t, name, 0, err, 21, "no tolerance")
		} else if err != nil || math.Abs(got[0].Tolerance.Plus-tolerances[i]/100) > 1e-15 {
			t.Errorf("%s: %v, %v; want %g %%", name, got, err, tolerances[i])
		}
		got, err = parts.Decode("red red black brown red "+name, parts.Ohm)
		if coefficients[i] == 0 {
			checkRefusal(t, name, 0, err, 25, "no temperature")
		} else if err != nil || got[0].TempcoPPM != coefficients[i] {
			t.Errorf("%s: %v, %v; want %g ppm/K", name, got, err, coefficients[i])
		}
	}
}

func TestNotes(t *testing.T) {
	for text, want := range map[string]string{
		"red red black brown grey": "0.05 %", "4m7": "milli or mega", "47pP": "+100", "10pA": "agreement", "47K": "common practice",
		"01C": "E96", "brown black black brown brown": "other end", "47nF": "taken for the tolerance",
	} {
		got, err := parts.Decode(text, parts.None)
		all := ""
		for _, m := range got {
			all += strings.Join(m.Notes, "; ")
		}
		if err != nil || !strings.Contains(all, want) {
			t.Errorf("%s: notes %q, %v; want %q", text, all, err, want)
		}
	}
}

// Nothing makes the decoder fail but with a place in the text, and every reading is
// a value that there can be.
func FuzzDecode(f *testing.F) {
	for _, c := range markings {
		f.Add(c.code, uint8(c.unit))
	}
	for _, c := range malformed {
		f.Add(c.text, uint8(c.unit))
	}
	f.Add("yellow violet red gold", uint8(0))
	f.Fuzz(func(t *testing.T, text string, u uint8) {
		for _, decode := range []func(string, parts.Unit) ([]parts.Marking, error){parts.Decode, parts.Read} {
			got, err := decode(text, parts.Unit(u))
			if err != nil {
				checkColumn(t, text, err)
			}
			if (err == nil) != (len(got) > 0) {
				t.Fatalf("%q: %v, %v", text, got, err)
			}
			for _, m := range got {
				if !(m.Value >= 0) || math.IsInf(m.Value, 0) || m.Value == 0 && !m.IsLink() || m.String() == "" {
					t.Fatalf("%q gave %+v", text, m)
				}
				if l := m.Limits(); m.Tolerance.Given() && m.Value > 1e-280 && !(l.Low < m.Value && m.Value < l.High && l.Low >= 0) {
					t.Fatalf("%q: limits %v", text, l)
				}
			}
		}
	})
}

// What is encoded is decoded to the same value and tolerance.
func TestEncodeRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		unit := rapid.SampledFrom([]parts.Unit{parts.Ohm, parts.Farad}).Draw(t, "unit")
		figures := rapid.IntRange(1, 99999).Draw(t, "figures")
		exponent := rapid.IntRange(-12, 3).Draw(t, "exponent")
		if unit == parts.Ohm {
			exponent += 6
		}
		value, _ := strconv.ParseFloat(fmt.Sprintf("%de%d", figures, exponent), 64)
		letter := rapid.SampledFrom([]rune("ELPWBCDFGHJKMNQTSZ")).Draw(t, "letter")
		tolerance, ok := parts.ToleranceOf(letter, value, unit)
		if !ok {
			t.Fatalf("%c is no tolerance", letter)
		}
		code, err := parts.Encode(value, unit, tolerance)
		if err != nil {
			if value > 1e-3 && value < 1e14 && unit == parts.Ohm {
				t.Fatalf("%g: %v", value, err)
			}
			return
		}
		got, err := parts.Decode(code, unit)
		if err != nil {
			t.Fatalf("%g is coded %s: %v", value, code, err)
		}
		for _, m := range got {
			if m.Value == value && m.Tolerance == tolerance {
				return
			}
		}
		t.Fatalf("%g, %v is coded %s and read as %v", value, tolerance, code, got)
	})
}

func TestEncode(t *testing.T) {
	for _, c := range []struct {
		value float64
		unit  parts.Unit
		t     parts.Tolerance
		want  string
	}{
		{4700, parts.Ohm, parts.Symmetric(0.05), "4K7J"},
		{0.1, parts.Ohm, parts.Tolerance{}, "R10"},
		{0.332, parts.Ohm, parts.Tolerance{}, "R332"},
		{1, parts.Ohm, parts.Tolerance{}, "1R0"},
		{10, parts.Ohm, parts.Tolerance{}, "10R"},
		{59040, parts.Ohm, parts.Tolerance{}, "59K04"},
		{1e12, parts.Ohm, parts.Tolerance{}, "1T0"},
		{0.0047, parts.Ohm, parts.Tolerance{}, "4L7"},
		{1e-13, parts.Farad, parts.Tolerance{}, "p10"},
		{4.7e-9, parts.Farad, parts.Symmetric(0.1), "4n7K"},
		{4.7e-12, parts.Farad, parts.Tolerance{AbsoluteF: 0.25e-12}, "4p7C"},
		{1e-5, parts.Farad, parts.Tolerance{Minus: 0.2, Plus: 0.8}, "10µZ"},
		{4.7e-3, parts.Farad, parts.Tolerance{}, "4m7"},
		{1, parts.Farad, parts.Tolerance{}, "1F0"},
	} {
		if got, err := parts.Encode(c.value, c.unit, c.t); got != c.want || err != nil {
			t.Errorf("%g %s: %q, %v; want %q", c.value, c.unit, got, err, c.want)
		}
	}
	for _, c := range []struct {
		value float64
		unit  parts.Unit
		t     parts.Tolerance
	}{
		{1, parts.Henry, parts.Tolerance{}}, {0, parts.Ohm, parts.Tolerance{}}, {-1, parts.Ohm, parts.Tolerance{}}, {math.NaN(), parts.Ohm, parts.Tolerance{}},
		{inf, parts.Farad, parts.Tolerance{}}, {1.23456, parts.Ohm, parts.Tolerance{}}, {1e-5, parts.Ohm, parts.Tolerance{}}, {1e16, parts.Ohm, parts.Tolerance{}},
		{1e5, parts.Farad, parts.Tolerance{}}, {100, parts.Ohm, parts.Symmetric(0.07)},
	} {
		if got, err := parts.Encode(c.value, c.unit, c.t); err == nil {
			t.Errorf("%g %s %v is coded %s", c.value, c.unit, c.t, got)
		}
	}
}

func TestToleranceLetters(t *testing.T) {
	for letter, percent := range map[rune]float64{'E': 0.005, 'L': 0.01, 'P': 0.02, 'W': 0.05, 'B': 0.1, 'C': 0.25, 'D': 0.5,
		'F': 1, 'G': 2, 'H': 3, 'J': 5, 'K': 10, 'M': 20, 'N': 30} {
		got, ok := parts.ToleranceOf(letter, 1000, parts.Ohm)
		if !ok || math.Abs(got.Plus-percent/100) > 1e-16 || got.Minus != got.Plus {
			t.Errorf("%c: %+v; want %g %%", letter, got, percent)
		}
		if _, small := map[rune]bool{'B': true, 'C': true, 'D': true, 'F': true, 'G': true}[letter]; small {
			got, _ := parts.ToleranceOf(letter, 9.9e-12, parts.Farad)
			want := map[rune]float64{'B': 1e-13, 'C': 2.5e-13, 'D': 5e-13, 'F': 1e-12, 'G': 2e-12}[letter]
			if got.AbsoluteF != want || got.Plus != 0 {
				t.Errorf("%c below 10 pF: %+v; want %g F", letter, got, want)
			}
		}
	}
	for letter, limits := range map[rune][2]float64{'Q': {90, 130}, 'T': {90, 150}, 'S': {80, 150}, 'Z': {80, 180}} {
		got, _ := parts.ToleranceOf(letter, 100, parts.Farad)
		if l := got.Of(100); math.Abs(l.Low-limits[0]) > 1e-12 || math.Abs(l.High-limits[1]) > 1e-12 {
			t.Errorf("%c: %v, want %v", letter, l, limits)
		}
	}
	if got, ok := parts.ToleranceOf('A', 1, parts.Ohm); !ok || got.Given() || !math.IsNaN(got.Of(1).Low) || got.String() != "no tolerance" {
		t.Errorf("A: %+v, %v", got, ok)
	}
	if _, ok := parts.ToleranceOf('X', 1, parts.Ohm); ok {
		t.Error("X is taken for a tolerance")
	}
	if l := (parts.Tolerance{AbsoluteF: 1e-12}).Of(0.5e-12); l.Low != 0 {
		t.Errorf("a negative capacitance: %v", l)
	}
}

func TestRead(t *testing.T) {
	for _, c := range []struct {
		text string
		unit parts.Unit
		want string
	}{
		{"4n7K", parts.None, "[4n7K: 4.7 nF, 10 %]"},
		{"100nF 5%", parts.None, "[100nF 5%: 100 nF, 5 %]"},
		{"4.7 kΩ/1%", parts.None, "[4.7 kΩ/1%: 4.7 kΩ, 1 %]"},
		{"22uH ± 10 %", parts.None, "[22uH ± 10 %: 22 µH, 10 %]"},
		{"10k 100ppm", parts.Ohm, "[10k 100ppm: 10 kΩ, 0.01 %]"},
		{"0.1u", parts.None, "[0.1u: 100 nF 0.1u: 100 nH]"},
		{"4.7k", parts.None, "[4.7k: 4.7 kΩ]"},
		{"47000", parts.Ohm, "[47000: 47 kΩ]"},
		{"1e-9 F", parts.None, "[1e-9 F: 1 nF]"},
		{"1\u00a0nF\u00a05\u00a0%", parts.None, "[1\u00a0nF\u00a05\u00a0%: 1 nF, 5 %]"},
	} {
		got, err := parts.Read(c.text, c.unit)
		if err != nil || fmt.Sprint(got) != c.want {
			t.Errorf("%q: %v, %v; want %s", c.text, got, err, c.want)
		}
	}
	for _, c := range []struct {
		text   string
		column int
		says   string
	}{
		{"100n/5", 6, "write 5%"}, {"22uH ± x%", 8, "no number"}, {"100 MF", 5, "mega-farad"}, {"0.0 F", 1, "value of nothing"}, {"12345", 5, "three or four"},
		{"4.7q", 4, "not understood"}, {"1e-30", 1, "no such parts"}, {"1nF 200%", 5, "no tolerance"}, {"banana", 1, "no multiplier"},
	} {
		got, err := parts.Read(c.text, parts.None)
		if len(got) > 0 {
			t.Errorf("%q is read as %v", c.text, got)
			continue
		}
		checkRefusal(t, c.text, 0, err, c.column, c.says)
	}
}

func TestErrorsAreTyped(t *testing.T) {
	_, err := parts.Decode("4n7X", parts.None)
	var e *parts.SyntaxError
	if !errors.As(err, &e) || e.Text != "4n7X" || e.Column != 4 {
		t.Errorf("%v", err)
	}
}

func ExampleDecode() {
	for _, text := range []string{"4n7K", "472", "yellow violet red gold"} {
		readings, _ := parts.Decode(text, parts.None)
		for _, m := range readings {
			fmt.Printf("%s (%s)\n", m, m.Kind())
		}
	}
	_, err := parts.Decode("4n7X", parts.None)
	fmt.Println(err)
	// Output:
	// 4n7K: 4.7 nF, 10 % (capacitor)
	// 472: 4.7 nF (capacitor)
	// 472: 4.7 kΩ (resistor)
	// 472: 4.7 mH (inductor)
	// yellow violet red gold: 4.7 kΩ, 5 % (resistor)
	// parts: "4n7X", character 4: X is no tolerance letter: J is 5 %, K 10 %, M 20 %
}

func ExampleEncode() {
	code, _ := parts.Encode(4.7e-9, parts.Farad, parts.Symmetric(0.1))
	fmt.Println(code)
	// Output: 4n7K
}
