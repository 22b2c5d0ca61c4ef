package parts_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"example.org/wheatear/lockin/parts"
)

func TestWords(t *testing.T) {
	for _, c := range []struct {
		value float64
		unit  parts.Unit
		want  string
	}{
		{4.7e-9, parts.Farad, "4.7 nF"}, {0.5e-12, parts.Farad, "0.5 pF"}, {1e-5, parts.Farad, "10 µF"}, {0.47, parts.Ohm, "0.47 Ω"},
		{0.0047, parts.Ohm, "4.7 mΩ"}, {1e6, parts.Ohm, "1 MΩ"}, {49900, parts.Ohm, "49.9 kΩ"}, {999.9, parts.Hertz, "999.9 Hz"}, {20e3, parts.Hertz, "20 kHz"},
		{0, parts.Ohm, "0 Ω"}, {-2.2e-3, parts.Henry, "-2.2 mH"}, {25, parts.None, "25"}, {1e-18, parts.Farad, "1e-18 F"},
		{math.NaN(), parts.Ohm, ""}, {inf, parts.Ohm, ""},
	} {
		if got := parts.Words(c.value, c.unit); got != c.want {
			t.Errorf("%g: %q, want %q", c.value, got, c.want)
		}
	}
}

// What is said is read back to the same value.
func TestWordsAreReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		unit := rapid.SampledFrom([]parts.Unit{parts.Ohm, parts.Farad, parts.Henry, parts.Hertz, parts.Volt}).Draw(t, "unit")
		v := math.Pow(10, rapid.Float64Range(-14, 2.9).Draw(t, "log10"))
		if got, err := parts.ParseValue(parts.Words(v, unit), unit); err != nil || got != v {
			t.Fatalf("%g is said %q and read as %g, %v", v, parts.Words(v, unit), got, err)
		}
	})
}

// Kinds of parts, and readings that are none.
func TestMarkingKinds(t *testing.T) {
	for unit, want := range map[parts.Unit]string{parts.Ohm: "resistor", parts.Farad: "capacitor", parts.Henry: "inductor", parts.Volt: "part"} {
		if got := (parts.Marking{Unit: unit}).Kind(); got != want {
			t.Errorf("%s: %s", unit, got)
		}
	}
	l := parts.Marking{Unit: parts.Farad, Value: 1e-7, Tolerance: parts.Tolerance{Minus: 0.2, Plus: 0.8}}.Limits()
	near(t, "low", l.Low, 80e-9, 1e-12)
	near(t, "high", l.High, 180e-9, 1e-12)
}
