package parts_test

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"example.org/wheatear/lockin/parts"
)

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

// Every resistor of four and five bands, against the rule written down once more:
// figures, times ten to the place of the multiplier in the list. What has no
// figures, or no tolerance, is refused, and nothing else.
func TestAllBands(t *testing.T) {
	names := strings.Fields("pink silver gold black brown red orange yellow green blue violet grey white")
	const black = 3 // place of the figure 0 and of the multiplier 1
	withTolerance := map[string]bool{}
	for _, name := range strings.Fields("silver gold brown red orange yellow green blue violet grey") {
		withTolerance[name] = true
	}
	count := 0
	for a := range names {
		for b := range names {
			for m := range names {
				for _, last := range names {
					text := names[a] + "-" + names[b] + "-" + names[m] + "-" + last
					got, err := parts.Decode(text, parts.None)
					good := a >= black && b >= black && a+b > 2*black && withTolerance[last]
					want, _ := strconv.ParseFloat(fmt.Sprintf("%d%de%d", a-black, b-black, m-black), 64)
					if good != (err == nil) || good && got[0].Value != want {
						t.Fatalf("%s: %v, %v; want %g", text, got, err, want)
					}
					if count++; !good {
						checkColumn(t, text, err)
					}
				}
			}
		}
	}
	if count != 13*13*13*13 {
		t.Errorf("%d resistors", count)
	}
}

// A resistor that was read from the wrong end: what makes no sense is refused with
// the value from the other end; what makes sense both ways is told both ways.
func TestBandsFromTheOtherEnd(t *testing.T) {
	for text, want := range map[string]string{
		"gold-red-violet-yellow":   "from the other end it is 4.7 kΩ",
		"silver-orange-blue-brown": "from the other end it is 16 kΩ",
		"white-gold-red-red":       "place 2 of 4",
	} {
		got, err := parts.Decode(text, parts.Ohm)
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, %v; want %q", text, got, err, want)
		}
	}
	for _, c := range []struct {
		text string
		n    int
	}{
		{"brown-black-black-brown-brown", 2},   // 1 kΩ, or 110 Ω
		{"yellow-violet-black-brown-green", 1}, // 4.7 kΩ; the other way 5.1 GΩ
		{"yellow-violet-black-brown-red", 1},   // and 2.1 GΩ
		{"brown-brown-brown-brown-brown", 1},   // the same either way
	} {
		if got, err := parts.Decode(c.text, parts.Ohm); err != nil || len(got) != c.n {
			t.Errorf("%s: %v, %v; want %d readings", c.text, got, err, c.n)
		}
	}
}
