package report

import (
	"strings"
	"testing"
)

func TestWrap(t *testing.T) {
	for _, tc := range []struct{ name, first, text, want string }{
		{"short", "", "a b", "a b\n"},
		{"empty", "note  ", "", "note\n"},
		{"hangs", "  → ", strings.Repeat("word ", 20), "  → " + strings.TrimSpace(strings.Repeat("word ", 15)) + "\n    " + strings.TrimSpace(strings.Repeat("word ", 5)) + "\n"},
		{"long word stays whole", "", "x " + strings.Repeat("y", 90), "x\n" + strings.Repeat("y", 90) + "\n"},
		{"a figure is not broken", "", strings.Repeat("z", 74) + " " + Tie("12 kΩ"), strings.Repeat("z", 74) + " 12 kΩ\n"},
		{"… but moved", "", strings.Repeat("z", 75) + " " + Tie("12 kΩ"), strings.Repeat("z", 75) + "\n12 kΩ\n"},
	} {
		var b strings.Builder
		Wrap(&b, tc.first, tc.text)
		if b.String() != tc.want {
			t.Errorf("%s: got %q, want %q", tc.name, b.String(), tc.want)
		}
	}
}

func TestNominal(t *testing.T) {
	for _, tc := range []struct {
		hz   float64
		want string
	}{
		{1000, "1 kHz"}, {50, "50 Hz"}, {999.9999999, "1 kHz"}, {2990.62304, "2.990623 kHz"}, {192e3, "192 kHz"}, {0.5, "500 mHz"},
	} {
		if got := nominal(tc.hz); got != tc.want {
			t.Errorf("nominal(%g) = %q, want %q", tc.hz, got, tc.want)
		}
	}
}

func TestPlural(t *testing.T) {
	for _, tc := range []struct {
		n          int
		noun, want string
	}{{0, "tone", "0 tones"}, {1, "frequency", "1 frequency"}, {2, "frequency", "2 frequencies"}, {3, "tone", "3 tones"}} {
		if got := plural(tc.n, tc.noun); got != tc.want {
			t.Errorf("got %q, want %q", got, tc.want)
		}
	}
}
