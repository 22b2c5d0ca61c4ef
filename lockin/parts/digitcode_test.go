package parts_test

import (
	"fmt"
	"strconv"
	"testing"

	"example.org/wheatear/lockin/parts"
)

// Every code of three and four figures, of every kind of part, against the rule
// written down once more. Source: IEC 60062:2016, clause 4.
func TestAllDigitCodes(t *testing.T) {
	for code := range 10_000 {
		for _, text := range []string{fmt.Sprintf("%03d", code), fmt.Sprintf("%04d", code)} {
			if code >= 1000 && len(text) == 3 {
				continue
			}
			for unit, base := range map[parts.Unit]int{parts.Farad: -12, parts.Ohm: 0, parts.Henry: -6} {
				checkDigitCode(t, text, unit, base)
			}
		}
	}
}

func checkDigitCode(t *testing.T, text string, unit parts.Unit, base int) {
	t.Helper()
	exponent := int(text[len(text)-1] - '0')
	link := unit == parts.Ohm && (text == "000" || text == "0000")
	good := text[0] != '0' && !(unit == parts.Henry && exponent >= 8) || link
	if unit == parts.Farad && exponent >= 8 {
		exponent -= 10
	}
	want, _ := strconv.ParseFloat(fmt.Sprintf("%se%d", text[:len(text)-1], exponent+base), 64)
	got, err := parts.Decode(text, unit)
	switch {
	case good != (err == nil), good && (len(got) != 1 || got[0].Value != want || got[0].Code != parts.DigitCode):
		t.Errorf("%s as %s: %v, %v; want %g", text, unit, got, err, want)
	case !good:
		checkColumn(t, text, err)
	}
}

// A tolerance letter behind the figures, of every kind of part.
func TestDigitCodesWithTolerance(t *testing.T) {
	for _, c := range []struct {
		text string
		unit parts.Unit
		want string
	}{
		{"104K", parts.Farad, "104K: 100 nF, 10 %"},
		{"229C", parts.Farad, "229C: 2.2 pF, 0.25 pF"}, // below 10 pF
		{"100C", parts.Farad, "100C: 10 pF, 0.25 %"},
		{"104Z", parts.Farad, "104Z: 100 nF, -20/+80 %"},
		{"1002G", parts.Farad, "1002G: 10 nF, 2 %"},
		{"101M", parts.Henry, "101M: 100 µH, 20 %"},
		{"472J", parts.Ohm, "472J: 4.7 kΩ, 5 %"},
		{"1001F", parts.Ohm, "1001F: 1 kΩ, 1 %"},
	} {
		if got, err := parts.Decode(c.text, c.unit); err != nil || got[0].String() != c.want {
			t.Errorf("%s: %v, %v; want %s", c.text, got, err, c.want)
		}
	}
	for _, c := range []struct {
		text   string
		unit   parts.Unit
		column int
	}{{"104X", parts.Farad, 4}, {"472j", parts.Ohm, 4}, {"104k", parts.Farad, 4}, {"12345K", parts.Farad, 5}} {
		if got, err := parts.Decode(c.text, c.unit); err == nil {
			t.Errorf("%s is read as %v", c.text, got)
		} else {
			checkRefusal(t, c.text, 0, err, c.column, "")
		}
	}
}
