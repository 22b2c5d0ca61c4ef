package parts_test

import (
	"fmt"
	"testing"

	"example.org/wheatear/lockin/parts"
)

func TestParseTolerance(t *testing.T) {
	for text, want := range map[string]float64{
		"0.1%": 1e-3, "0,1 %": 1e-3, "±0.1%": 1e-3, "± 1 %": 1e-2, "0.7%": 7e-3, "100ppm": 1e-4, "100 PPM": 1e-4,
		"50ppb": 5e-8, "1e-3": 1e-3, "0.02": 0.02, "0": 0, "0%": 0, "100%": 1, "1e2ppm": 1e-4, " 5% ": 0.05,
	} {
		if got, err := parts.ParseTolerance(text); err != nil || got != want {
			t.Errorf("ParseTolerance(%q) = %v, %v; want %v", text, got, err, want)
		}
	}
}

func TestParseToleranceRefuses(t *testing.T) {
	for _, c := range []struct {
		text   string
		column int
		says   string
	}{
		{"5", 1, "write 5% if that is meant"},
		{"1", 1, "write 1% if"},
		{"-1%", 1, "negative"},
		{"101%", 1, "more than 100 %"},
		{"%", 1, "empty"},
		{"", 1, "empty"},
		{"ppm", 1, "empty"},
		{"1k%", 2, "relative"},
		{"1kΩ", 2, "relative"},
		{"1%%", 2, "not understood"},
		{"NaN", 1, "not a number"},
		{"inf%", 1, "not a number"},
		{"1e400%", 1, "too large"},
		{"\xff", 1, "UTF-8"},
	} {
		v, err := parts.ParseTolerance(c.text)
		checkRefusal(t, c.text, v, err, c.column, c.says)
	}
}

func FuzzParseTolerance(f *testing.F) {
	for _, text := range []string{"0.1%", "100ppm", "1e-3", "±5 %", "5", "%", "1k%", "µ%"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		rel, err := parts.ParseTolerance(text)
		if err != nil {
			checkColumn(t, text, err)
		} else if !(rel >= 0 && rel <= 1) {
			t.Fatalf("%q gave %v", text, rel)
		}
	})
}

func ExampleParseTolerance() {
	for _, text := range []string{"0.1%", "100ppm", "1e-3"} {
		rel, _ := parts.ParseTolerance(text)
		fmt.Println(text, "=", rel)
	}
	// Output:
	// 0.1% = 0.001
	// 100ppm = 0.0001
	// 1e-3 = 0.001
}
