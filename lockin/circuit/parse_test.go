package circuit

import (
	"errors"
	"math"
	"strings"
	"testing"
)

func mustParse(t testing.TB, text string) *Circuit {
	t.Helper()
	c, err := Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func TestParseWritesBack(t *testing.T) {
	for text, want := range map[string]string{
		"R 100k // (C 1u + R 0.2 + L 15n)": "R 100k // (C 1u + R 0.2 + L 15n)",
		"Rs + C // Rp":                     "Rs + C // Rp",
		"R1+C2//R3":                        "R1 + C2 // R3",
		"(((R 1)))":                        "R 1",
		"R 1 + (R 2 + R 3)":                "R 1 + R 2 + R 3", // brackets that group nothing
		"R 1 // (R 2 // R 3)":              "R 1 // R 2 // R 3",
		"(R 1 + R 2) // R 3":               "(R 1 + R 2) // R 3",
		"R 1 + (R 2 // R 3)":               "R 1 + R 2 // R 3",
		"R4k7 + C100n + LR1":               "R 4k7 + C 100n + LR1", // a name, since it begins with a letter
		"Q 1u^.9//R 1e+3":                  "Q 1e-06^0.9 // R 1k",
		"Qd^0.5 + Sw + W 50":               "Qd^0.5 + Sw + W 50",
		"E 10m^5k + T 47u^2.5 + K .03^0.7": "E 10m^5k + T 47u^2.5 + K 0.03^0.7",
		" R\t47\n":                         "R 47",
		"C 0.22µ":                          "C 220n",
		"Rä + C_x1":                        "Rä + C_x1",
	} {
		c := mustParse(t, text)
		if got := c.String(); got != want {
			t.Errorf("Parse(%q) writes %q, want %q", text, got, want)
		}
		if again := mustParse(t, c.String()); again.String() != c.String() {
			t.Errorf("%q reads back as %q", c.String(), again.String())
		}
	}
}

func TestUnknownsInOrder(t *testing.T) {
	c := mustParse(t, "Rs + Qd // (Rp + W) + Rs + Qx^0.8 + R 5")
	var names []string
	for _, u := range c.Unknowns() {
		names = append(names, u.Name+" "+u.Unit)
	}
	want := "Rs Ω, Qd F s^(n-1), Qd.n , Rp Ω, W Ω s^-0.5, Qx F s^(n-1)"
	if got := strings.Join(names, ", "); got != want {
		t.Errorf("unknowns %q, want %q", got, want)
	}
	if c.Elements() != 7 {
		t.Errorf("%d elements, want 7", c.Elements())
	}
}

func TestParseSaysWhere(t *testing.T) {
	for text, want := range map[string]struct {
		column int
		reason string
	}{
		"":                  {1, "missing"},
		"R 1 +":             {6, "missing"},
		"(R 1":              {5, "opened at character 1"},
		"R 1)":              {4, "never opened"},
		"R 1 / R 2":         {5, "parallel is written //"},
		"R 1 R 2":           {5, "join elements"},
		"R 100k // X 2":     {11, "begins with"},
		"C 100x":            {6, "not understood"},
		"R µ + C 10q":       {3, ""},
		"Rµ + C 10q":        {10, ""}, // characters, not bytes
		"R47":               {1, "a name or a value"},
		"C -1n":             {3, ""},
		"Q 1u":              {5, "two values"},
		"Q 1u^1.2":          {6, "between 0 and 1"},
		"R 1^2":             {4, "no value behind"},
		"Rs^2":              {3, "no value behind"},
		"S 1^":              {5, "missing"},
		"R 1 // // C 1n":    {8, "begins with"},
		"C 1e400":           {3, ""},
		"(R 1 + C 1n] // L": {11, ""},
	} {
		_, err := Parse(text)
		var syntax *SyntaxError
		if !errors.As(err, &syntax) {
			t.Errorf("Parse(%q) gives %v, want a *SyntaxError", text, err)
			continue
		}
		if syntax.Column != want.column || !strings.Contains(syntax.Reason, want.reason) {
			t.Errorf("Parse(%q): %v; want character %d and %q", text, err, want.column, want.reason)
		}
		if !strings.HasPrefix(err.Error(), "circuit: ") {
			t.Errorf("error %q does not name its package", err)
		}
	}
}

func TestParseHasLimits(t *testing.T) {
	deep := strings.Repeat("(", maxDepth+1) + "R 1" + strings.Repeat(")", maxDepth+1)
	long := "R 1" + strings.Repeat(" + R 1", maxElements)
	for _, text := range []string{deep, long} {
		if _, err := Parse(text); err == nil {
			t.Errorf("%d characters were read without an error", len(text))
		}
	}
	if _, err := Parse(deep[1 : len(deep)-1]); err != nil {
		t.Errorf("as many brackets as allowed: %v", err)
	}
}

// What is read is written in a form that reads the same, and has an impedance.
func FuzzParse(f *testing.F) {
	for _, seed := range []string{"R 100k // (C 1u + R 0.2 + L 15n)", "Rs + C // Rp", "Qd^0.5 + S 50m^17k", "T 1u^2 // (E + K 1^.5)", "R47", "((R 1)", "C 1e+3"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		c, err := Parse(text)
		if err != nil {
			var syntax *SyntaxError
			if !errors.As(err, &syntax) || syntax.Column < 1 || syntax.Column > len([]rune(text))+1 {
				t.Fatalf("Parse(%q): %v", text, err)
			}
			return
		}
		again, err := Parse(c.String())
		if err != nil || again.String() != c.String() || len(again.unknowns) != len(c.unknowns) {
			t.Fatalf("%q is written %q and read %v, %v", text, c, again, err)
		}
		values := make([]float64, len(c.unknowns))
		for i := range values {
			values[i] = 0.5
		}
		z, back := c.Impedance(1e3, values...), again.Impedance(1e3, values...)
		if z != back && !(math.IsNaN(real(z)) && math.IsNaN(real(back))) {
			t.Fatalf("%q is %v, read back %v", text, z, back)
		}
	})
}
