package parts_test

import (
	"math"
	"testing"

	"example.org/wheatear/lockin/parts"
)

func TestToleranceLetters(t *testing.T) {
	for letter, percent := range map[rune]float64{'E': 0.005, 'L': 0.01, 'P': 0.02, 'W': 0.05, 'B': 0.1, 'C': 0.25, 'D': 0.5,
		'F': 1, 'G': 2, 'H': 3, 'J': 5, 'K': 10, 'M': 20, 'N': 30} {
		got, ok := parts.ToleranceOf(letter, 1000, parts.Ohm)
		if !ok || math.Abs(got.Plus-percent/100) > 1e-16 || got.Minus != got.Plus {
			t.Errorf("%c: %+v; want %g %%", letter, got, percent)
		}
		if _, small := map[rune]bool{'B': true, 'C': true, 'D': true, 'F': true, 'G': true}[letter]; small {
			got, _ := parts.ToleranceOf(letter, 9.9e-12, parts.Farad)
			want := map[rune]float64{'B': 1e-13, 'C': 2.5e-13, 'D': 5e-13, 'F': 1e-12, 'G': 2e-12}[letter]
			if got.AbsoluteF != want || got.Plus != 0 {
				t.Errorf("%c below 10 pF: %+v; want %g F", letter, got, want)
			}
		}
	}
	for letter, limits := range map[rune][2]float64{'Q': {90, 130}, 'T': {90, 150}, 'S': {80, 150}, 'Z': {80, 180}} {
		got, _ := parts.ToleranceOf(letter, 100, parts.Farad)
		if l := got.Of(100); math.Abs(l.Low-limits[0]) > 1e-12 || math.Abs(l.High-limits[1]) > 1e-12 {
			t.Errorf("%c: %v, want %v", letter, l, limits)
		}
	}
	if got, ok := parts.ToleranceOf('A', 1, parts.Ohm); !ok || got.Given() || !math.IsNaN(got.Of(1).Low) || got.String() != "no tolerance" {
		t.Errorf("A: %+v, %v", got, ok)
	}
	if _, ok := parts.ToleranceOf('X', 1, parts.Ohm); ok {
		t.Error("X is taken for a tolerance")
	}
	if l := (parts.Tolerance{AbsoluteF: 1e-12}).Of(0.5e-12); l.Low != 0 {
		t.Errorf("a negative capacitance: %v", l)
	}
}
