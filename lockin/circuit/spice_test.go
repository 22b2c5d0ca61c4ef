package circuit

import (
	"bytes"
	"fmt"
	"math"
	"math/cmplx"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// spiced are circuits and how near their subcircuits come.
var spiced = []struct {
	text  string
	error float64 // relative; 1e-6 for lumped ones, which is what ngspice's output carries
}{
	{"R 100k // (C 1u + R 0.2 + L 15n)", 1e-6},
	{"R 33 + L 92m", 1e-6},
	{"(R 33 + L 92m) // C 1.1n // R 220k", 1e-6},
	{"C 100n", 1e-6},
	{"R 0 + C 220u + R 45m + L 12n", 1e-6},
	// What simulators find hard: nodes without a way for direct current, loops of coils,
	// elements that are none, and values far apart.
	{"C 100n + C 220n", 1e-6},
	{"C 1n + C 10n // R 1M", 1e-6},
	{"R 10 + C 100n + C 220n + L 1m", 1e-6},
	{"L 1m // L 2m", 1e-6},
	{"R 3 + (L 1m + R 0) // L 2m + C 1u", 1e-6},
	{"R 5 // C 0", 1e-6},
	{"R 1e-15 + C 1u", 1e-6},
	{"C 1p // R 1T", 1e-6},
	{"R 100u + L 1n", 1e-6},
	{"R 10 + Q 1u^0.8", 2e-3},
	{"R 4 + K 0.03^0.7", 2e-3},
	{"S 50m^17k + L 1u", 2e-3},
	{"(R 12 + E 10m^5k) // C 200p", 2e-3},
	{"L 12n + R 20m + T 47u^2.5", 2e-3},
	{"R 1 + W 50 // C 1u", 2e-3},
}

func TestSubcircuitsInASimulator(t *testing.T) {
	program, err := exec.LookPath("ngspice")
	if err != nil {
		if os.Getenv("WHEATEAR_CI") != "" {
			t.Fatal("ngspice is not installed: apt-get install ngspice")
		}
		t.Skip("ngspice is not installed (apt-get install ngspice)")
	}
	for i, c := range spiced {
		circuit, err := Parse(c.text)
		if err != nil {
			t.Fatal(err)
		}
		sub, err := circuit.Spice("part", 20, 20e3)
		if err != nil {
			t.Errorf("%s: %v", c.text, err)
			continue
		}
		if sub.Exact != (c.error <= 1e-6) || !sub.Exact && !(sub.Error > 0 && sub.Error < c.error) {
			t.Errorf("%s: exact %v, off by %.2g, want below %.0g", c.text, sub.Exact, sub.Error, c.error)
		}
		for f, z := range simulate(t, program, i, sub.Text, []float64{20, 120, 1000, 7000, 20000}) {
			want := circuit.Impedance(f)
			if off := cmplx.Abs(z/want - 1); off > math.Max(1e-6, 1.1*sub.Error) {
				t.Errorf("%s at %g Hz: %v, the simulator has %v, off by %.2g", c.text, f, want, z, off)
			}
		}
	}
}

// What a ladder is said to hold within holds from one end of its band to the other, be
// the band wide or narrow and the element close to a resistor or to a pure reactance.
func TestLaddersHoldWhatTheySay(t *testing.T) {
	program, err := exec.LookPath("ngspice")
	if err != nil {
		if os.Getenv("WHEATEAR_CI") != "" {
			t.Fatal("ngspice is not installed: apt-get install ngspice")
		}
		t.Skip("ngspice is not installed (apt-get install ngspice)")
	}
	for i, c := range []struct {
		text      string
		low, high float64
	}{
		{"Q 1u^0.1", 20, 20e3}, {"Q 1u^0.5", 1, 100e3}, {"Q 1u^0.95", 20, 20e3}, {"R 1 + Q 100n^0.8 // R 1M", 1e3, 2e3},
		{"K 0.03^0.2", 20, 20e3}, {"K 1m^0.95", 20, 20e3}, {"W 50", 0.1, 1e5}, {"S 50m^17k", 100, 90e3}, {"S 50m^17k + L 1u", 20, 200},
		{"(R 12 + E 10m^5k) // C 200p", 20, 90e3}, {"L 12n + R 20m + T 47u^2.5", 20, 20e3}, {"Q 1u^0.8 + K 1m^0.6", 20, 20e3},
	} {
		circuit, err := Parse(c.text)
		if err != nil {
			t.Fatal(err)
		}
		sub, err := circuit.Spice("part", c.low, c.high)
		if err != nil {
			t.Errorf("%s: %v", c.text, err)
			continue
		}
		var freqs []float64
		const steps = 37 // not those at which the ladder was fitted, nor those at which it was tried
		for k := range steps + 1 {
			freqs = append(freqs, c.low*math.Pow(c.high/c.low, float64(k)/steps))
		}
		worst := 0.0
		for f, z := range simulate(t, program, i, sub.Text, freqs) {
			worst = math.Max(worst, cmplx.Abs(z/circuit.Impedance(f)-1))
		}
		t.Logf("%s from %g to %g Hz: said %.1e, is %.1e", c.text, c.low, c.high, sub.Error, worst)
		// A twentieth for what lies between the frequencies tried, 2e-6 for the printed digits.
		if sub.Exact || sub.LowHz != c.low || sub.HighHz != c.high || worst > 1.05*sub.Error+2e-6 || sub.Error > 0.01 {
			t.Errorf("%s from %g to %g Hz: said to be within %.2g, is %.2g off", c.text, c.low, c.high, sub.Error, worst)
		}
		if comment := fmt.Sprintf("from %.4g Hz to %.4g Hz within ", c.low, c.high); !strings.Contains(sub.Text, comment) {
			t.Errorf("%s: %q is not in\n%s", c.text, comment, sub.Text)
		}
	}
}

// simulate asks ngspice for the impedance at some frequencies: the voltage for a
// current of one ampere. What the simulator needs for its direct current is taken off.
func simulate(t *testing.T, program string, i int, sub string, freqs []float64) map[float64]complex128 {
	t.Helper()
	dir := t.TempDir()
	var deck bytes.Buffer
	fmt.Fprintf(&deck, "* circuit %d\n%s\nX1 p 0 part\nI1 0 p dc 0 ac 1\nRdc p 0 1e15\n.control\nset numdgt=12\n", i, sub)
	for _, f := range freqs {
		fmt.Fprintf(&deck, "ac lin 1 %.17g %.17g\nprint real(v(p)) imag(v(p))\n", f, f)
	}
	deck.WriteString("quit\n.endc\n.end\n")
	path := filepath.Join(dir, "deck.cir")
	if err := os.WriteFile(path, deck.Bytes(), 0o666); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(program, "-b", path).CombinedOutput()
	var values []float64
	for _, line := range strings.Split(string(out), "\n") {
		var v float64
		if name, text, ok := strings.Cut(line, "="); ok && strings.Contains(name, "v(p)") {
			if _, err := fmt.Sscan(text, &v); err == nil {
				values = append(values, v)
			}
		}
	}
	if len(values) != 2*len(freqs) {
		t.Fatalf("%d values: %v\n%s", len(values), err, out)
	}
	z := map[float64]complex128{}
	for k, f := range freqs {
		z[f] = 1 / (1/complex(values[2*k], values[2*k+1]) - 1e-15)
	}
	return z
}

func TestSpiceRefuses(t *testing.T) {
	for _, c := range []struct {
		text, name string
		low, high  float64
		want       string
	}{
		{"Rs + C 1u", "part", 20, 20e3, "no value yet"},
		{"R 1 + C 1u", "1part", 20, 20e3, "no name for a subcircuit"},
		{"R 1 + C 1u", "part\n.include x", 20, 20e3, "no name for a subcircuit"},
		{"R 1 + Q 1u^0.8", "part", 0, 0, "frequencies"},
		{"R 1 + Q 1u^0.8", "part", 20e3, 20, "frequencies"},
	} {
		circuit, err := Parse(c.text)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := circuit.Spice(c.name, c.low, c.high); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s as %q: %v, want %q", c.text, c.name, err, c.want)
		}
	}
}

// min |x - 1|² + |x - y + 2|² + |y|² would have x = 0 and y = 1, and without the
// bound min |x + 1|² + |x - y|² has x = y = -1.
func TestNonNegative(t *testing.T) {
	x := nonNegative(mat.NewDense(3, 2, []float64{1, 0, 1, -1, 0, 1}), []float64{1, -2, 0})
	if math.Abs(x[0]) > 1e-12 || math.Abs(x[1]-1) > 1e-12 {
		t.Errorf("inner minimum: %v", x)
	}
	x = nonNegative(mat.NewDense(2, 2, []float64{1, 0, 1, -1}), []float64{-1, 0})
	if x[0] != 0 || x[1] != 0 {
		t.Errorf("minimum at the bounds: %v", x)
	}
}

// Every element of a ladder is one that can be bought.
func TestLaddersArePassive(t *testing.T) {
	for _, text := range []string{"Q 1u^0.5", "K 0.03^0.7", "W 50", "S 50m^17k", "E 10m^5k", "T 47u^2.5"} {
		c, err := Parse(text)
		if err != nil {
			t.Fatal(err)
		}
		var p [2]float64
		ch := newChain(c.root.kind, c.root.fill(&p, nil), 20, 20e3)
		if ch.ohm < 0 || ch.reactive < 0 {
			t.Errorf("%s: negative elements: %+v", text, ch)
		}
		for _, cell := range ch.cells {
			if cell[0] <= 0 || cell[1] <= 0 {
				t.Errorf("%s: a cell with a negative element: %v", text, cell)
			}
		}
		t.Logf("%s: %d cells, off by %.1e", text, len(ch.cells), ch.off)
	}
}
