package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math/cmplx"
	"os"
	"os/exec"
	"strings"
	"testing"

	"example.org/wheatear/cmd/wheatear/internal/clitest"
	"example.org/wheatear/lockin/circuit"
	"example.org/wheatear/lockin/touchstone"
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

// spiceDesk is a folder with a calibrated jig and a coil in it.
func spiceDesk(t *testing.T) {
	t.Helper()
	t.Chdir(t.TempDir())
	for name, text := range map[string]string{"jig.toml": spiceJig, "tray.toml": spiceTray} {
		if err := os.WriteFile(name, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	spiceDone(t, "calibrate", "--jig", "jig.toml", "--at", "20..20k/15", "--load", "1k/0.1%", "--out", "cal.json")
}

// spiceDone runs a command that must succeed.
func spiceDone(t *testing.T, args ...string) []byte {
	t.Helper()
	status, out, talk := command(args...)
	if status != 0 {
		t.Fatalf("%s: status %d: %s", args[0], status, talk)
	}
	return out
}

// fittedTo runs a fit and returns the circuit with its values.
func fittedTo(t *testing.T, text string, args ...string) func(hz float64) complex128 {
	t.Helper()
	var f fitted
	if err := json.Unmarshal(spiceDone(t, append([]string{"fit", "--circuit", text, "--json"}, args...)...), &f); err != nil {
		t.Fatal(err)
	}
	var values []float64
	for _, u := range f.Circuits[0].Unknowns {
		values = append(values, *u.Estimate)
	}
	c, err := circuit.Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	return func(hz float64) complex128 { return c.Impedance(hz, values...) }
}

// The subcircuit of a fit has, in a simulator, the impedance of the circuit that was
// fitted: within 1e-6, which is what the simulator prints. Whatever the file is called,
// the subcircuit has a name that simulators take, and nothing in the name of a part
// becomes a line of its own.
func TestFittedSubcircuitInASimulator(t *testing.T) {
	program := clitest.Program(t, "ngspice", "ngspice")
	spiceDesk(t)
	spiceDone(t, "sweep", "--jig", "jig.toml", "--calibration", "cal.json", "--at", "all", "--part", "coil", "--together", "--touchstone", "coil.s1p")
	if err := os.Rename("coil.s1p", "odd\n.include x.s1p"); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ file, name, from string }{
		{"coil.cir", "coil", ""}, {"3 coils, \"µ\" $.cir", "part_3_coils_______", ""}, {".cir", "part_", ""}, {"_x.lib", "part__x", "odd\n.include x.s1p"},
	} {
		args := []string{"--jig", "jig.toml", "--calibration", "cal.json", "--part", "coil", "--spice", c.file}
		if c.from != "" {
			args = []string{"--touchstone", c.from, "--spice", c.file}
		}
		fit := fittedTo(t, "Cp // (Rs + L) // Rc", args...)
		plain := "simulated.cir" // the simulator's own commands take no name like these
		if err := os.Rename(c.file, plain); err != nil {
			t.Fatal(err)
		}
		for hz, z := range simulated(t, program, plain, c.name, []float64{20, 120, 1000, 7000, 20000}) {
			if want := fit(hz); cmplx.Abs(z/want-1) > 1e-6 {
				t.Errorf("%q at %g Hz: the simulator has %v, the fit %v", c.file, hz, z, want)
			}
		}
	}
}

// A sweep goes out as a Touchstone file in either form, comes back to be fitted, and the
// simulator has from the fit what the sweep had read.
func TestSweepToSimulator(t *testing.T) {
	program := clitest.Program(t, "ngspice", "ngspice")
	spiceDesk(t)
	for _, c := range []struct{ file, circuit string }{{"coil.s1p", "Cp // (Rs + L) // Rc"}, {"coil.Z1P", "Cp // (Rs + L) // Rc"}, {"twice.s1p", "Cp // (Rs + L + S) // Rc"}} {
		spiceDone(t, "sweep", "--jig", "jig.toml", "--calibration", "cal.json", "--at", "all", "--part", "coil", "--together", "--touchstone", c.file)
		text, err := os.ReadFile(c.file)
		if err != nil {
			t.Fatal(err)
		}
		n, err := touchstone.Read(c.file, bytes.NewReader(text))
		if err != nil || len(n.FreqHz) != 15 {
			t.Fatalf("%s: %d points, %v", c.file, len(n.FreqHz), err)
		}
		fittedTo(t, c.circuit, "--touchstone", c.file, "--spice", "back.cir")
		said, err := os.ReadFile("back.cir")
		if err != nil {
			t.Fatal(err)
		}
		if ladder := strings.Contains(string(said), "ladders stand for elements that are not lumped: from 20"); ladder != strings.Contains(c.circuit, "S") {
			t.Errorf("%s: of ladders it says\n%s", c.circuit, said)
		}
		at := map[float64]complex128{}
		var freqs []float64
		for _, i := range []int{0, 4, 8, 11, 14} {
			at[n.FreqHz[i]] = n.Ohm[i]
			freqs = append(freqs, n.FreqHz[i])
		}
		for hz, z := range simulated(t, program, "back.cir", "back", freqs) {
			if off := cmplx.Abs(z/at[hz] - 1); off > 2e-3 { // of what was read, with its noise
				t.Errorf("%s at %g Hz: the simulator has %v, the file %v", c.file, hz, z, at[hz])
			}
		}
	}
}

// simulated asks ngspice for the impedance of a subcircuit: the voltage for a current of
// one ampere.
func simulated(t *testing.T, program, file, name string, freqs []float64) map[float64]complex128 {
	t.Helper()
	var deck bytes.Buffer
	fmt.Fprintf(&deck, "* impedance\n.include %s\nX1 p 0 %s\nI1 0 p dc 0 ac 1\nRdc p 0 1e15\n.control\nset numdgt=12\n", file, name)
	for _, f := range freqs {
		fmt.Fprintf(&deck, "ac lin 1 %.17g %.17g\nprint real(v(p)) imag(v(p))\n", f, f)
	}
	deck.WriteString("quit\n.endc\n.end\n")
	path := "deck.cir"
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
