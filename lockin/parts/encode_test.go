package parts_test

import (
	"fmt"
	"math"
	"strconv"
	"testing"

	"pgregory.net/rapid"

	"example.org/wheatear/lockin/parts"
)

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

func ExampleEncode() {
	code, _ := parts.Encode(4.7e-9, parts.Farad, parts.Symmetric(0.1))
	fmt.Println(code)
	// Output: 4n7K
}
