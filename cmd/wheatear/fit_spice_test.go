package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math/cmplx"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"example.org/wheatear/lockin/circuit"
)

const spiceJig = `name = "a bench"
channels = ["total", "part"]
reference = "1k"
reference_tolerance = "0.1%"
full_scale = "1.4V"
mains = 50
[card]
backend = "virtual"
rate = 48000
seconds = 0.5
[virtual]
tray = "tray.toml"
`

const spiceTray = `[[part]]
name = "coil"
circuit = "(R 33 + L 92m) // C 1.1n // R 220k"
[faults]
noise = ["4u", "4u"]
bits = 24
`

// The subcircuit of a fit has, in a simulator, the impedance of the circuit that was
// fitted: within 1e-6, which is what the simulator prints.
func TestFittedSubcircuitInASimulator(t *testing.T) {
	program, err := exec.LookPath("ngspice")
	if err != nil {
		if os.Getenv("WHEATEAR_CI") != "" {
			t.Fatal("ngspice is not installed: apt-get install ngspice")
		}
		t.Skip("ngspice is not installed (apt-get install ngspice)")
	}
	dir := t.TempDir()
	path := func(name string) string { return filepath.Join(dir, name) }
	for name, text := range map[string]string{"jig.toml": spiceJig, "tray.toml": spiceTray} {
		if err := os.WriteFile(path(name), []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	if status, _, talk := command("calibrate", "--jig", path("jig.toml"), "--at", "20..20k/15", "--load", "1k/0.1%", "--out", path("cal.json")); status != 0 {
		t.Fatalf("calibrate: status %d: %s", status, talk)
	}
	status, out, talk := command("fit", "--jig", path("jig.toml"), "--calibration", path("cal.json"), "--part", "coil", "--circuit", "Cp // (Rs + L) // Rc",
		"--json", "--spice", path("coil.cir"))
	if status != 0 {
		t.Fatalf("status %d: %s", status, talk)
	}
	var f fitted
	if err := json.Unmarshal(out, &f); err != nil {
		t.Fatal(err)
	}
	var values []float64
	for _, u := range f.Circuits[0].Unknowns {
		values = append(values, *u.Estimate)
	}
	c, err := circuit.Parse("Cp // (Rs + L) // Rc")
	if err != nil {
		t.Fatal(err)
	}
	for hz, z := range simulated(t, program, path("coil.cir"), "coil") {
		if want := c.Impedance(hz, values...); cmplx.Abs(z/want-1) > 1e-6 {
			t.Errorf("at %g Hz: the simulator has %v, the fit %v", hz, z, want)
		}
	}
}

// simulated asks ngspice for the impedance of a subcircuit at five frequencies: the
// voltage for a current of one ampere.
func simulated(t *testing.T, program, file, name string) map[float64]complex128 {
	t.Helper()
	var deck bytes.Buffer
	fmt.Fprintf(&deck, "* impedance\n.include %s\nX1 p 0 %s\nI1 0 p dc 0 ac 1\nRdc p 0 1e15\n.control\nset numdgt=12\n", file, name)
	freqs := []float64{20, 120, 1000, 7000, 20000}
	for _, f := range freqs {
		fmt.Fprintf(&deck, "ac lin 1 %g %g\nprint real(v(p)) imag(v(p))\n", f, f)
	}
	deck.WriteString("quit\n.endc\n.end\n")
	path := filepath.Join(t.TempDir(), "deck.cir")
	if err := os.WriteFile(path, deck.Bytes(), 0o666); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(program, "-b", path).CombinedOutput()
	var values []float64
	for _, line := range strings.Split(string(out), "\n") {
		var v float64
		if what, text, ok := strings.Cut(line, "="); ok && strings.Contains(what, "v(p)") {
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
		z[f] = complex(values[2*k], values[2*k+1])
	}
	return z
}
