package report

import (
	"math"
	"testing"

	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/uncertain"
)

func about(v, half float64) uncertain.Quantity {
	return uncertain.Quantity{Value: v, U: half / 1.96, Low: v - half, High: v + half}
}

func atMost(v float64) uncertain.Quantity {
	return uncertain.Quantity{Value: math.NaN(), U: math.NaN(), Low: math.Inf(-1), High: v}
}

func TestEquivalents(t *testing.T) {
	none := uncertain.Absent()
	for _, tc := range []struct {
		name    string
		reading impedance.Reading
		want    []string // value and rest of each
	}{
		{"capacitor, parallel fits", impedance.Reading{
			Dominance: impedance.Dominance{Kind: impedance.Capacitor}, Fitting: impedance.Fitting{Circuit: impedance.ParallelCircuit},
			Series:   impedance.Equivalent{R: about(2, 0.5), C: about(100e-9, 1e-9), L: none},
			Parallel: impedance.Equivalent{R: about(1e6, 1e5), C: about(99e-9, 1e-9), L: none},
		}, []string{"99.0 nF ± 1.0 nF", "in parallel with 1.00 MΩ ± 0.10 MΩ", "100.0 nF ± 1.0 nF", "in series with   2.00 Ω ± 0.50 Ω"}},
		{"resistor with a bound on L", impedance.Reading{
			Dominance: impedance.Dominance{Kind: impedance.Resistor},
			Series:    impedance.Equivalent{R: about(470, 0.5), C: none, L: atMost(3e-6)},
			Parallel:  impedance.Equivalent{R: none, C: none, L: none},
		}, []string{"470.00 Ω ± 0.50 Ω", "in series with   < 3.0 µH"}},
		{"undecided goes by what is likeliest", impedance.Reading{
			Dominance: impedance.Dominance{Likeliest: impedance.Inductor},
			Series:    impedance.Equivalent{R: none, C: none, L: about(1e-3, 1e-4)},
			Parallel:  impedance.Equivalent{R: none, C: none, L: none},
		}, []string{"1.00 mH ± 0.10 mH", "in series"}},
	} {
		var got []string
		for _, e := range equivalents(tc.reading) {
			got = append(got, e.text(), e.rest())
		}
		if len(got) != len(tc.want) {
			t.Errorf("%s: %q, want %q", tc.name, got, tc.want)
			continue
		}
		for i := range got {
			if got[i] != tc.want[i] {
				t.Errorf("%s: %q, want %q", tc.name, got[i], tc.want[i])
			}
		}
	}
}

func TestShortTakesTheLongerSide(t *testing.T) {
	q := uncertain.Quantity{Value: 1, U: 0.2, Low: 0.9, High: 1.5}
	if got := short(q, "Ω"); got != "1.00 Ω ± 0.50 Ω" {
		t.Errorf("got %q", got)
	}
	if got := short(atMost(12), "Ω"); got != "< 12 Ω" {
		t.Errorf("got %q", got)
	}
	if got := rough(0.0123456, "A"); got != "12 mA" {
		t.Errorf("got %q", got)
	}
}
