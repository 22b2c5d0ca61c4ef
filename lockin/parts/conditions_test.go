package parts_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"example.org/wheatear/lockin/parts"
)

func conditions(t *testing.T, kind parts.Type, value float64) []parts.Condition {
	t.Helper()
	list, err := parts.Conditions(kind, value)
	if err != nil || len(list) == 0 {
		t.Fatalf("%s of %g: %v, %v", kind, value, list, err)
	}
	return list
}

// The first row for a type and value; each with the standard that it comes from,
// which the table marks as read or from memory.
func TestConditions(t *testing.T) {
	for _, c := range []struct {
		kind     parts.Type
		value    float64
		standard string
		freqHz   float64
		levelV   float64
	}{
		{parts.CeramicClass1, 100e-12, "IEC 60384-8 / -21", 1e6, 5},
		{parts.CeramicClass1, 1e-9, "IEC 60384-8 / -21", 1e6, 5}, // up to and with 1000 pF
		{parts.CeramicClass1, 1.2e-9, "IEC 60384-8 / -21", 1e3, 5},
		{parts.CeramicClass2, 10e-6, "IEC 60384-9 / -22", 1e3, 1.2},
		{parts.CeramicClass2, 22e-6, "IEC 60384-9 / -22", 100, 0.7},
		{parts.Polyester, 100e-9, "IEC 60384-2", 1e3, math.NaN()},
		{parts.Aluminium, 1e-3, "IEC 60384-4 / -18", 100, 0.5},
		{parts.Tantalum, 10e-6, "IEC 60384-3 / -15", 100, 1},
		{parts.Electrolytic, 1e-3, "IEC 60384-1", 100, math.NaN()},
		{parts.AnyCapacitor, 1e-9, "IEC 60384-1", 1e6, math.NaN()},
		{parts.AnyCapacitor, 10e-6, "IEC 60384-1", 1e3, math.NaN()},
		{parts.AnyCapacitor, 11e-6, "IEC 60384-1", 100, math.NaN()},
		{parts.AnyInductor, 22e-6, "MIL-PRF-15305", 2.52e6, math.NaN()},
		{parts.ChipInductor, 10e-9, "IEC 62024-1", 1e8, math.NaN()},
		{parts.MagneticCore, 1e-3, "IEC 62044-2", 1e4, math.NaN()},
		{parts.AnyResistor, 1e3, "IEC 60115-1", 0, 1},
		{parts.AnyResistor, 4.7e6, "IEC 60115-1", 0, 50},
	} {
		got := conditions(t, c.kind, c.value)[0]
		if got.Standard != c.standard || got.FreqsHz[0] != c.freqHz || got.LevelV.High != c.levelV && !(math.IsNaN(c.levelV) && math.IsNaN(got.LevelV.High)) {
			t.Errorf("%s of %g: %+v", c.kind, c.value, got)
		}
	}
}

// Every row says where it comes from, rows from memory say so, and habits stand
// last and name no standard.
func TestConditionsAreHonest(t *testing.T) {
	rows := map[string]bool{}
	for _, kind := range parts.Types() {
		for e := -12.0; e < 8; e += 0.25 {
			list := conditions2(kind, math.Pow(10, e))
			habits := false
			for _, c := range list {
				rows[fmt.Sprint(c)] = true
				if c.Source == "" || c.Standard == "" {
					t.Errorf("%+v does not say where it comes from", c)
				}
				if habit := c.Source == "common practice"; habit != (c.Standard == "none") || habits && !habit {
					t.Errorf("%s: %+v", kind, c)
				} else {
					habits = habits || habit
				}
				if c.FromMemory() != strings.Contains(c.Source, "memory") {
					t.Errorf("%+v", c)
				}
			}
		}
	}
	if len(rows) < 40 {
		t.Errorf("only %d rows were seen", len(rows))
	}
}

func conditions2(kind parts.Type, value float64) []parts.Condition {
	list, _ := parts.Conditions(kind, value)
	return list
}

// The limits of class 1: 0.0015·(15/C + 0.7) and Q ≥ 400 + 20·C, C in pF, worked
// by hand; both continuous where the next row begins.
func TestLimitsOfLoss(t *testing.T) {
	for pF, want := range map[float64]float64{50: 0.0015, 10: 0.0033, 4.7: 0.00583723404255, 1: 0.02355, 50.0001: 0.0015, 500: 0.0015} {
		d, ok := conditions(t, parts.CeramicClass1, pF*1e-12)[0].LargestD(pF * 1e-12)
		if !ok || math.Abs(d-want) > 1e-12 {
			t.Errorf("%g pF: D ≤ %g, want %g", pF, d, want)
		}
	}
	for pF, q := range map[float64]float64{30: 1000, 10: 600, 4.7: 494, 31: 1000} {
		list := conditions(t, parts.CeramicClass1, pF*1e-12)
		i := slices.IndexFunc(list, func(c parts.Condition) bool { return c.Standard == "EIA practice" })
		d, ok := list[i].LargestD(pF * 1e-12)
		if !ok || math.Abs(1/d-q) > 1e-9 {
			t.Errorf("%g pF: Q ≥ %g, want %g", pF, 1/d, q)
		}
	}
	if _, ok := conditions(t, parts.AnyResistor, 1e3)[0].LargestD(1e3); ok {
		t.Error("a resistor has no limit of loss")
	}
}

func TestBeyondASoundCard(t *testing.T) {
	small := conditions(t, parts.CeramicClass1, 100e-12)[0]
	if got := small.Beyond(parts.CardLowHz, parts.CardHighHz); !strings.Contains(got, "asks for 1 MHz, beyond") || !strings.Contains(got, "not what the standard means") {
		t.Errorf("%q", got)
	}
	coil := conditions(t, parts.AnyInductor, 47e-3)[0]
	if got := coil.Beyond(parts.CardLowHz, parts.CardHighHz); !strings.Contains(got, "79.6 kHz takes a card with 192,000") {
		t.Errorf("%q", got)
	}
	if got := coil.Beyond(parts.CardLowHz, 80e3); got != "" {
		t.Errorf("%q", got)
	}
	if got := conditions(t, parts.AnyResistor, 1e3)[0].Beyond(20, 2e4); !strings.Contains(got, "direct current") {
		t.Errorf("%q", got)
	}
	film := conditions(t, parts.Polypropylene, 1e-8)[0]
	if got := film.Reachable(parts.CardLowHz, parts.CardHighHz); len(got) != 2 || film.Beyond(parts.CardLowHz, parts.CardHighHz) != "" {
		t.Errorf("%v", got)
	}
}

func TestConditionsRefuse(t *testing.T) {
	for _, kind := range []parts.Type{"", "paper", "Resistor"} {
		if _, err := parts.Conditions(kind, 1); err == nil || kind.Unit() != parts.None {
			t.Errorf("%q is a type", kind)
		}
	}
	for _, v := range []float64{0, -1, math.NaN(), inf} {
		if _, err := parts.Conditions(parts.AnyResistor, v); err == nil {
			t.Errorf("%g is a value", v)
		}
	}
	for unit, kind := range map[parts.Unit]parts.Type{parts.Ohm: parts.AnyResistor, parts.Farad: parts.AnyCapacitor, parts.Henry: parts.AnyInductor, parts.Volt: ""} {
		if parts.TypeOf(unit) != kind || kind != "" && kind.Unit() != unit {
			t.Errorf("%s: %q", unit, parts.TypeOf(unit))
		}
	}
}

func ExampleConditions() {
	list, _ := parts.Conditions(parts.CeramicClass1, 47e-12)
	c := list[0]
	d, _ := c.LargestD(47e-12)
	fmt.Printf("%s: %s, D ≤ %.4f\n%s\n", c.Standard, c.Level, d, c.Beyond(parts.CardLowHz, parts.CardHighHz))
	// Output:
	// IEC 60384-8 / -21: 0.5 V to 5 V rms, D ≤ 0.0015
	// asks for 1 MHz, beyond a sound card (20 Hz to 20 kHz): a reading within that is not what the standard means
}
