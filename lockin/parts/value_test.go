package parts_test

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"example.org/wheatear/lockin/parts"
)

// Every form must give the very float64 that the decimal number names: the
// parser rounds once, so no tolerance is needed.
func TestParseValue(t *testing.T) {
	for _, c := range []struct {
		unit parts.Unit
		want float64
		text []string
	}{
		{parts.Ohm, 4700, []string{"4k7", "4.7k", "4,7 k\u2126", "4,7 k\u03a9", "4700", "4.7e3", "4K7", "4k7 ohm", "4k7Ω",
			" 4.7 kOhm ", "4700R", "4700.", "04700", "4.7E+3", "4.7e3 Ω", "4700\u00a0Ω", "0.0047M"}},
		{parts.Farad, 1e-5, []string{"10\u00b5F", "10\u03bcF", "10uF", "10u", "0.01mF", "1e-5", "10 µF", "0,01m", "1e-5F", "10uf", "10\u202fµF", "10000n"}},
		{parts.Ohm, 1e6, []string{"1M", "1MΩ", "1e6", "1000k", "1M0"}},
		{parts.Ohm, 1e-3, []string{"1m", "1mΩ", "0.001", "1e-3", "1 m"}},
		{parts.Ohm, 2.2, []string{"2R2", "2.2", "2,2R", "2.2Ω", "2200m"}},
		{parts.Ohm, 0.47, []string{"R47", "0R47", ".47", ",47", "470m", "0,47 Ω"}},
		{parts.Farad, 1e-7, []string{"100n", "100nF", "0.1u", ".1uF", "u1", "µ1", "0.0001m"}},
		{parts.Farad, 4.7e-9, []string{"4n7", "4n7F", "4.7nF", "4700p"}},
		{parts.Farad, 3.3e-13, []string{"p33", "0p33", "0.33pF", "330fF"}},
		{parts.Farad, 3000, []string{"3kF", "3000"}},
		{parts.Farad, 1.5, []string{"1F5", "1.5F", "1.5"}},
		{parts.Henry, 4.7e-3, []string{"4m7", "4.7mH", "4,7 mh", "4700u"}},
		{parts.Hertz, 1000, []string{"1k", "1kHz", "1 khz", "1000", "1000Hz", "1e3hz"}},
		{parts.Volt, 1.2, []string{"1.2V", "1V2", "1.2", "1200mV", "1.2 v"}},
		{parts.Ampere, 1e-3, []string{"1mA", "1m", "1e-3A"}},
		{parts.Second, 2e-3, []string{"2ms", "2m", "0.002s"}},
		{parts.None, 0.5, []string{"0.5", "0,5", "5e-1", "500m"}},
		{parts.Farad, 0, []string{"0", "0.0", "0p", "0 pF", "0e5"}},
	} {
		for _, text := range c.text {
			got, err := parts.ParseValue(text, c.unit)
			if err != nil || got != c.want {
				t.Errorf("ParseValue(%q, %v) = %v, %v; want %v", text, c.unit, got, err, c.want)
			}
		}
	}
}

// refusals: the text, its unit, the character at fault, and a word of the sentence.
var refusals = []struct {
	text   string
	unit   parts.Unit
	column int
	says   string
}{
	{"10MF", parts.Farad, 3, "mega-farad? write 10 mF or 10 µF"},
	{"10M", parts.Farad, 3, "mega-farad"},
	{"1M5F", parts.Farad, 2, "mega-farad"},
	{"2GH", parts.Henry, 2, "giga-henry? write 2 mH or 2 µH"},
	{"1.000,5", parts.Ohm, 6, "second decimal mark"},
	{"1,000.5", parts.Ohm, 6, "second decimal mark"},
	{"1.2.3", parts.Ohm, 4, "second decimal mark"},
	{"4k7.5", parts.Ohm, 4, "second decimal mark"},
	{"4.7k5", parts.Ohm, 4, "not understood"},
	{"4k7k", parts.Ohm, 4, "second scale"},
	{"4k7m", parts.Ohm, 4, "second scale"},
	{"1e3k", parts.Ohm, 4, "second scale"},
	{"1k2e3", parts.Ohm, 6, "exponent after a prefix"},
	{"--5", parts.Ohm, 1, "two signs"},
	{"-100", parts.Ohm, 1, "negative"},
	{"\u2212100", parts.Ohm, 1, "negative"},
	{"+100", parts.Ohm, 1, "sign"},
	{"NaN", parts.Ohm, 1, "not a number"},
	{"Inf", parts.Ohm, 1, "not a number"},
	{"∞", parts.Ohm, 1, "not a number"},
	{"", parts.Ohm, 1, "empty"},
	{"   ", parts.Ohm, 1, "empty"},
	{"k", parts.Ohm, 1, "no number"},
	{".", parts.Ohm, 1, "no number"},
	{"ohm", parts.Ohm, 1, "no number"},
	{"4 700", parts.Ohm, 3, "in one piece"},
	{"4'700", parts.Ohm, 2, "not understood"},
	{"4_700", parts.Ohm, 2, "not understood"},
	{"0x10", parts.Ohm, 2, "not understood"},
	{"1e", parts.Ohm, 3, "no digits in the exponent"},
	{"1e-", parts.Ohm, 4, "no digits in the exponent"},
	{"1e99999", parts.Ohm, 2, "out of range"},
	{"1e99999999999999999999", parts.Ohm, 2, "out of range"},
	{"1e303", parts.Ohm, 1, "beyond anything that can be measured"},
	{"1e-303", parts.Farad, 1, "beyond anything that can be measured"},
	{"1e400", parts.Ohm, 1, "too large"},
	{"1e-400", parts.Ohm, 1, "too small"},
	{"10nH", parts.Farad, 3, "value in henry where farad is expected"},
	{"5Hz", parts.None, 2, "value in hertz where a plain number is expected"},
	{"1f", parts.Farad, 2, "lone f"},
	{"1f5", parts.Farad, 2, "lone f"},
	{"10mfd", parts.Farad, 3, "micro"},
	{"10 bananas", parts.Farad, 4, "not understood"},
	{"1kΩΩ", parts.Ohm, 2, "not understood"},
	{"1\xffk", parts.Ohm, 2, "UTF-8"},
	{strings.Repeat("9", 5000), parts.Ohm, 1, "too long"},
}

func TestParseValueRefuses(t *testing.T) {
	for _, c := range refusals {
		v, err := parts.ParseValue(c.text, c.unit)
		checkRefusal(t, c.text, v, err, c.column, c.says)
	}
}

// checkRefusal wants a zero value and an error at a column with a sentence.
func checkRefusal(t *testing.T, text string, v float64, err error, column int, says string) {
	t.Helper()
	var e *parts.SyntaxError
	if !errors.As(err, &e) {
		t.Errorf("%.40q: got %v, %v; want a SyntaxError", text, v, err)
		return
	}
	if v != 0 || e.Column != column || !strings.Contains(e.Reason, says) {
		t.Errorf("%.40q: got %v, column %d, %q; want 0, column %d, %q", text, v, e.Column, e.Reason, column, says)
	}
	if !strings.HasPrefix(err.Error(), "parts: ") || strings.HasSuffix(err.Error(), ".") || len(err.Error()) > 400 {
		t.Errorf("%.40q: message out of form: %s", text, err)
	}
}

func TestMilliAndMegaDiffer(t *testing.T) {
	milli, err1 := parts.ParseValue("1m", parts.Ohm)
	mega, err2 := parts.ParseValue("1M", parts.Ohm)
	if err1 != nil || err2 != nil || milli != 1e-3 || mega != 1e6 {
		t.Errorf("1m = %v (%v), 1M = %v (%v)", milli, err1, mega, err2)
	}
}

func TestParsePositive(t *testing.T) {
	v, err := parts.ParsePositive("0", parts.Ohm)
	checkRefusal(t, "0", v, err, 1, "zero")
	v, err = parts.ParsePositive("-1", parts.Ohm)
	checkRefusal(t, "-1", v, err, 1, "negative")
	if v, err := parts.ParsePositive("1k", parts.Ohm); v != 1000 || err != nil {
		t.Errorf("1k = %v, %v", v, err)
	}
}

func TestParseSigned(t *testing.T) {
	for text, want := range map[string]float64{"-3n": -3e-9, "+3n": 3e-9, "3n": 3e-9, "\u22123 nH": -3e-9, "0": 0} {
		if got, err := parts.ParseSigned(text, parts.Henry); err != nil || got != want {
			t.Errorf("%q = %v, %v; want %v", text, got, err, want)
		}
	}
	v, err := parts.ParseSigned("--5", parts.Henry)
	checkRefusal(t, "--5", v, err, 1, "two signs")
	v, err = parts.ParseSigned("-", parts.Henry)
	checkRefusal(t, "-", v, err, 2, "empty")
	v, err = parts.ParseSigned("\xff", parts.Henry)
	checkRefusal(t, "\xff", v, err, 1, "UTF-8")
}

func TestUnknownUnitIsAPlainNumber(t *testing.T) {
	if got, err := parts.ParseValue("2.5", parts.Unit(200)); got != 2.5 || err != nil {
		t.Errorf("got %v, %v", got, err)
	}
	if s := parts.Unit(200).String(); s != "" {
		t.Errorf("symbol %q", s)
	}
}

func FuzzParseValue(f *testing.F) {
	for _, c := range refusals {
		f.Add(c.text, uint8(c.unit))
	}
	for _, text := range []string{"4k7", "R47", "0,01 mF", "10\u03bcF", "1e-9", "2R2", "330fF"} {
		f.Add(text, uint8(parts.Ohm))
		f.Add(text, uint8(parts.Farad))
	}
	f.Fuzz(func(t *testing.T, text string, u uint8) {
		unit := parts.Unit(u)
		v, err := parts.ParseValue(text, unit)
		if err != nil {
			checkColumn(t, text, err)
			return
		}
		if !(v >= 0) || math.IsInf(v, 0) {
			t.Fatalf("%q gave %v", text, v)
		}
		printed := parts.FormatValue(v, unit)
		if again, err := parts.ParseValue(printed, unit); err != nil || again != v {
			t.Fatalf("%q gave %v, printed %q, read again %v, %v", text, v, printed, again, err)
		}
	})
}

// checkColumn wants the column within the text or one past it.
func checkColumn(t *testing.T, text string, err error) {
	t.Helper()
	var e *parts.SyntaxError
	if !errors.As(err, &e) {
		t.Fatalf("%q: %v is no SyntaxError", text, err)
	}
	if e.Column < 1 || e.Column > len([]rune(text))+1 {
		t.Fatalf("%q: column %d", text, e.Column)
	}
}

func ExampleParseValue() {
	for _, text := range []string{"4k7", "4,7 kΩ", "R47", "1m", "1M"} {
		v, _ := parts.ParseValue(text, parts.Ohm)
		fmt.Println(text, "=", v)
	}
	_, err := parts.ParseValue("10MF", parts.Farad)
	fmt.Println(err)
	// Output:
	// 4k7 = 4700
	// 4,7 kΩ = 4700
	// R47 = 0.47
	// 1m = 0.001
	// 1M = 1e+06
	// parts: "10MF", character 3: mega-farad? write 10 mF or 10 µF
}
