package report

import (
	"math"
	"testing"

	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/uncertain"
)

func TestSignsOfNumbers(t *testing.T) {
	for _, c := range []struct{ name, got, want string }{
		{"a value", neat("-86.4 ° ± 0.1 °"), "\u221286.4° ± 0.1°"},
		{"a level", minus("50.0 Hz at -70 dBFS (channel 1)"), "50.0 Hz at \u221270 dBFS (channel 1)"},
		{"words and names stay", minus("jig-changed in part-2.wav, self-made"), "jig-changed in part-2.wav, self-made"},
		{"a range", minus("(-1 to -0.5) ohm"), "(\u22121 to \u22120.5) ohm"},
	} {
		if c.got != c.want {
			t.Errorf("%s: %q, want %q", c.name, c.got, c.want)
		}
	}
}

// Where the 45 degree line lies within the uncertainty, the modulus is the headline, and
// between what it is left open is said with it.
func TestHeadlineOfAnUndecidedPart(t *testing.T) {
	around := func(v, half float64) uncertain.Quantity {
		return uncertain.Quantity{Value: v, U: half / 2, Low: v - half, High: v + half}
	}
	for _, c := range []struct {
		im   uncertain.Quantity
		want string
	}{
		{around(-700, 20), "|Z|; resistor or capacitor is left open"},
		{around(700, 20), "|Z|; resistor or inductor is left open"},
		{around(0, 900), "|Z|; what it mostly is, is left open"},
	} {
		r := impedance.Reading{State: impedance.OK, Re: around(700, 20), Im: c.im, Modulus: around(math.Hypot(700, c.im.Value), 20)}
		if h := headline(r); h.Name != c.want || h.Value == "" || h.Half == "" {
			t.Errorf("%+v: %+v, want %q", c.im, h, c.want)
		}
	}
}
