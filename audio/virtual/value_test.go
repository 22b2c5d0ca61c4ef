package virtual

import (
	"fmt"
	"strings"
	"testing"
)

func TestParseValue(t *testing.T) {
	cases := []struct {
		text string
		kind byte
		want float64
	}{
		{"1k", 'R', 1e3}, {"4k7", 'R', 4700}, {"100n", 'C', 100e-9}, {"0.22u", 'C', 0.22e-6},
		{"20m", 'R', 20e-3}, {"R47", 'R', 0.47}, {"4R7", 'R', 4.7}, {"1e-9", 'C', 1e-9}, {"1e-9F", 'C', 1e-9},
		{"100nF", 'C', 100e-9}, {"1f", 'C', 1e-15}, {"10mH", 'L', 10e-3}, {"33ohm", 'R', 33}, {"1kΩ", 'R', 1e3},
		{"1.2V", 'V', 1.2}, {"0.26mVs", 'Q', 0.26e-3}, {"4n", 'A', 4e-9}, {"2M2", 'R', 2.2e6}, {"1µ", 'C', 1e-6},
		{"0", 'R', 0}, {" 5k ", 'R', 5e3}, {"1E3", '-', 1e3}, {"47R", 'R', 47}, {"2u2", 'C', 2.2e-6}, {"1T", 'R', 1e12},
	}
	for _, c := range cases {
		got, err := parseValue(c.text, c.kind)
		if err != nil || got != c.want {
			t.Errorf("%q is %v (%v), want %v", c.text, got, err, c.want)
		}
	}
}

func TestParseValueRefuses(t *testing.T) {
	for _, text := range []string{"", "k", "1kk", "-1", "1e999", "NaN", "Inf", "0x10", "1_000", "4k7n", "4.7k7", "1F", "ohm", "R", "1x", "k4k", "1e-1k5"} {
		if v, err := parseValue(text, 'R'); err == nil {
			t.Errorf("%q is taken as %v", text, v)
		}
	}
}

// text writes a circuit with brackets around everything.
func (c *circuit) text() string {
	switch c.kind {
	case '+', '/':
		var parts []string
		for _, p := range c.parts {
			parts = append(parts, p.text())
		}
		return "(" + strings.Join(parts, map[byte]string{'+': " + ", '/': " // "}[c.kind]) + ")"
	}
	return fmt.Sprintf("%c %g", c.kind, c.value)
}

func TestParseCircuit(t *testing.T) {
	cases := []struct{ text, want string }{
		{"R 50m", "R 0.05"},
		{"R50m", "R 0.05"},
		{"R 100k // (C 1u + R 0.2 + L 15n)", "(R 100000 // (C 1e-06 + R 0.2 + L 1.5e-08))"},
		{"R 1 + C 2u // L 3m", "(R 1 + (C 2e-06 // L 0.003))"}, // parallel binds tighter
		{"R 1//C 2u+L 3m", "((R 1 // C 2e-06) + L 0.003)"},
		{"((R 1))", "R 1"},
		{"R R47", "R 0.47"},
		{"C 1e-9+R 1e+3", "(C 1e-09 + R 1000)"}, // the plus within a number is not series
		{"", "()"},
		{"  ", "()"},
	}
	for _, c := range cases {
		got, err := parseCircuit(c.text)
		if err != nil || got.text() != c.want {
			t.Errorf("%q: got %v (%v), want %s", c.text, got, err, c.want)
		}
	}
}

func TestParseCircuitRefuses(t *testing.T) {
	cases := []struct{ text, want string }{
		{"R", "is not a value"},
		{"X 5", "begins with R, C or L"},
		{"R 1 +", "missing at the end"},
		{"R 1 R 2", "left over"},
		{"(R 1", "not closed"},
		{"R 1)", "left over"},
		{"R 1 / C 1", "left over"},
		{"R -5", "is not a value"},
		{"Ω 1 + R 1", "place 1"},
		{strings.Repeat("(", 200) + "R 1", "brackets within each other"},
		{strings.Repeat("R 1 + ", 300) + "R 1", "more than 200 elements"},
	}
	for _, c := range cases {
		if _, err := parseCircuit(c.text); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%.40q: got %v, want it to say %q", c.text, err, c.want)
		}
	}
}

// What is read can be written and read again.
func FuzzParseCircuit(f *testing.F) {
	for _, s := range []string{"R 50m", "R 100k // (C 1u + R 0.2 + L 15n)", "C 1e+3", "(R1)", "R R47", "", "R 4k7+(L1//C2n)"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		c, err := parseCircuit(text)
		if err != nil || strings.TrimSpace(text) == "" {
			return
		}
		again, err := parseCircuit(c.text())
		if err != nil || again.text() != c.text() {
			t.Errorf("%q became %q, and that %v (%v)", text, c.text(), again, err)
		}
	})
}
