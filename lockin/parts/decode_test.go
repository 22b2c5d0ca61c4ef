package parts_test

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

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
		{"104K", parts.Ohm, []string{"104K: 104 kΩ"}},            // K multiplies before it tolerates
		{"4p7C", parts.Farad, []string{"4p7C: 4.7 pF, 0.25 pF"}}, // picofarads below ten
		{"10pC", parts.Farad, []string{"10pC: 10 pF, 0.25 %"}},   // and per cent from there on
		{"9p1J", parts.Farad, []string{"9p1J: 9.1 pF, 5 %"}},     // J is per cent always
		{"47pJ", parts.Farad, []string{"47pJ: 47 pF, 5 %"}},
		{"4R7C", parts.Ohm, []string{"4R7C: 4.7 Ω, 0.25 %"}},
		{"100nZ", parts.Farad, []string{"100nZ: 100 nF, -20/+80 %"}},
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

func TestNotes(t *testing.T) {
	for text, want := range map[string]string{
		"red red black brown grey": "0.05 %", "4m7": "milli or mega", "47pP": "+100", "10pA": "agreement", "47K": "common practice",
		"01C": "E96", "brown black black brown brown": "other end", "47nF": "read as the unit",
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
