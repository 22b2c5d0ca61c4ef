package parts_test

import (
	"fmt"
	"math"
	"testing"

	"example.org/wheatear/lockin/parts"
	"pgregory.net/rapid"
)

func TestFormatValue(t *testing.T) {
	for _, c := range []struct {
		value float64
		unit  parts.Unit
		want  string
	}{
		{4700, parts.Ohm, "4k7"},
		{1000, parts.Ohm, "1k"},
		{100, parts.Ohm, "100R"},
		{2.2, parts.Ohm, "2R2"},
		{0.47, parts.Ohm, "R47"},
		{0.05, parts.Ohm, "50m"},
		{1e6, parts.Ohm, "1M"},
		{1.234567e6, parts.Ohm, "1.234567M"},
		{100e-9, parts.Farad, "100n"},
		{4.7e-9, parts.Farad, "4n7"},
		{220e-9, parts.Farad, "220n"},
		{5e-13, parts.Farad, "0.5p"},
		{1e-14, parts.Farad, "0.01p"},
		{1e-16, parts.Farad, "1e-16"},
		{1.5, parts.Farad, "1F5"},
		{3000, parts.Farad, "3k"},
		{1e6, parts.Farad, "1e+06"},
		{-3e-9, parts.Henry, "-3n"},
		{120, parts.Hertz, "120"},
		{1.5, parts.Hertz, "1.5"},
		{12500, parts.Hertz, "12k5"},
		{1.2, parts.Volt, "1V2"},
		{0.5, parts.None, "500m"},
		{0, parts.Ohm, "0"},
		{math.NaN(), parts.Ohm, ""},
		{math.Inf(1), parts.Ohm, ""},
	} {
		if got := parts.FormatValue(c.value, c.unit); got != c.want {
			t.Errorf("FormatValue(%v, %v) = %q, want %q", c.value, c.unit, got, c.want)
		}
	}
}

// One ulp to each side of every change of prefix must still read back exactly.
func TestFormatValueAtPrefixEdges(t *testing.T) {
	for exponent := -19; exponent <= 19; exponent++ {
		edge := math.Pow10(exponent)
		for _, v := range []float64{math.Nextafter(edge, 0), edge, math.Nextafter(edge, 2*edge)} {
			for unit := parts.None; unit <= parts.Second; unit++ {
				text := parts.FormatValue(v, unit)
				if got, err := parts.ParseValue(text, unit); err != nil || got != v {
					t.Errorf("%v in %v printed %q, read %v, %v", v, unit, text, got, err)
				}
			}
		}
	}
}

func TestFormatValueRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64().Draw(t, "value")
		unit := parts.Unit(rapid.Uint8Range(0, uint8(parts.Second)).Draw(t, "unit"))
		if a := math.Abs(v); math.IsNaN(v) || math.IsInf(v, 0) || unit != parts.None && a != 0 && (a < 1e-30 || a > 1e30) {
			return
		}
		text := parts.FormatValue(v, unit)
		if got, err := parts.ParseSigned(text, unit); err != nil || got != v {
			t.Fatalf("%v printed %q, read %v, %v", v, text, got, err)
		}
	})
}

func ExampleFormatValue() {
	fmt.Println(parts.FormatValue(4700, parts.Ohm), parts.FormatValue(100e-9, parts.Farad), parts.FormatValue(0.47, parts.Ohm))
	// Output: 4k7 100n R47
}
