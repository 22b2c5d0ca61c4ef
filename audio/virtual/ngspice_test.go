package virtual

import (
	"bytes"
	"context"
	"flag"
	"fmt"
	"math"
	"math/cmplx"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"
)

var update = flag.Bool("update", false, "run ngspice and write its values to testdata")

// spiceCase is the circuit of a netlist in the terms of this package.
type spiceCase struct {
	rateHz  float64
	jig     Jig
	part    Part
	seconds float64 // until the steady state
	drive   float64 // peak, re full scale
}

// spiceJig is the jig of most netlists.
func spiceJig(referenceOhm float64) Jig {
	return Jig{
		ReferenceOhm: referenceOhm, ReferenceFarad: 0.5e-12, ReferenceHenry: 20e-9,
		SourceOhm: 33, SourceFarad: 220e-6, LeadOhm: 0.062, LeadHenry: 0.4e-6, FixtureFarad: 6e-12,
		Inputs: [2]Input{{Ohm: 220e3, Farad: 120e-12, CornerHz: 3}, {Ohm: 220e3, Farad: 135e-12, CornerHz: 3.2}},
	}
}

// spiceHigh is the jig with the reference to ground.
func spiceHigh(referenceOhm float64) Jig {
	return Jig{
		Channels:     [2]string{"total", "reference"},
		ReferenceOhm: referenceOhm, ReferenceFarad: 0.5e-12, ReferenceHenry: 20e-9,
		SourceOhm: 47, LeadOhm: 0.083, LeadHenry: 0.5e-6, FixtureFarad: 8e-12,
		Inputs: [2]Input{{Ohm: 100e3, Farad: 120e-12, CornerHz: 4}, {Ohm: 100e3, Farad: 135e-12, CornerHz: 4.4}},
	}
}

// spiceDirect is the jig of the netlists that are not linear.
func spiceDirect() Jig {
	return Jig{
		ReferenceOhm: 100.05, ReferenceFarad: 0.5e-12, SourceOhm: 33, LeadOhm: 0.08, LeadHenry: 0.5e-6, FixtureFarad: 8e-12,
		Inputs: [2]Input{{Ohm: 100e3, Farad: 120e-12}, {Ohm: 100e3, Farad: 135e-12}},
	}
}

func linearCases() map[string]spiceCase {
	one := func(j Jig, text string) spiceCase {
		return spiceCase{48000, j, Part{Name: "part", Circuit: text}, 0.8, 1}
	}
	differential := Jig{
		Channels:     [2]string{"part", "reference"},
		ReferenceOhm: 99.93, ReferenceFarad: 0.5e-12, ReferenceHenry: 20e-9,
		SourceOhm: 22, LeadOhm: 0.15, LeadHenry: 0.8e-6, FixtureFarad: 10e-12, GroundFarad: 3e-12,
		Inputs: [2]Input{{100e3, 150e-12, 2, 0.001}, {100e3, 150e-12, 2.2, 0}},
	}
	amplifier := Jig{
		Channels:     [2]string{"part", "-reference"},
		ReferenceOhm: 1000.3, ReferenceFarad: 22e-12, ReferenceHenry: 20e-9,
		SourceOhm: 1000, LeadOhm: 0.103, LeadHenry: 0.6e-6, FixtureFarad: 5e-12, GroundFarad: 3e-12,
		Inputs:    [2]Input{{100e3, 120e-12, 5, 0}, {100e3, 135e-12, 5.5, 0}},
		Amplifier: Amplifier{4e6, 200e3, 50, 8e-12},
	}
	fast := one(amplifier, "L 4n + R 0.3 + C 3.27n // R 10G // (R 8k + C 25p)")
	fast.rateHz, fast.seconds = 192000, 0.5
	return map[string]spiceCase{
		"resistor":     one(spiceJig(1000.6), "(L 5n + R 10040) // C 0.2p"),
		"short":        one(spiceJig(1000.6), "R 0.2m + L 2n"),
		"open":         one(spiceJig(1000.6), ""),
		"electrolytic": one(spiceJig(1000.6), "L 15n + R 0.045 + C 220u // R 200k // (R 47 + C 4.7u)"),
		"speaker":      one(spiceJig(21.98), "R 5.83 + L 0.32m // R 9 + L 0.11m // R 28 + L 50u // R 90 + R 31 // L 38m // C 520u"),
		"film":         one(spiceHigh(9994), "L 4n + R 0.3 + C 101.3p // R 10G"),
		"tank":         one(spiceHigh(1001.2), "C 101n // (L 10.2m + R 12.4)"),
		"inductor":     one(differential, "(L 33.6m + R 21.5) // C 60p // R 300k"),
		"amplifier":    fast,
	}
}

func nonlinearCases() map[string]spiceCase {
	one := func(p Part) spiceCase { return spiceCase{48000, spiceDirect(), p, 0.3, 1.4} }
	return map[string]spiceCase{
		"junction": one(Part{Circuit: "(L 12n + R 0.05 + C 1.018u) // R 10k",
			Junctions: []Junction{{SaturationA: 4e-9, Emission: 1.85, SeriesOhm: 0.6, Farad: 3e-12}}}),
		"chain": one(Part{Circuit: "C 47n", Junctions: []Junction{
			{SaturationA: 4e-9, Emission: 1.85, SeriesOhm: 68, Count: 3},
			{SaturationA: 4e-9, Emission: 1.85, SeriesOhm: 5, Reverse: true}}}),
		"ceramic": one(Part{Ceramics: []Ceramic{{Farad: 2.2e-6, Volt: 2, SeriesOhm: 0.02, Henry: 0.8e-9, LeakOhm: 500e6}}}),
		"core":    one(Part{Cores: []Core{{Henry: 0.18, FluxVs: 2.6e-4, WindingOhm: 22, LossOhm: 50e3, Farad: 80e-12}}}),
	}
}

// spiceValue is a line of a file of values.
type spiceValue struct {
	freqHz float64
	y      [2]complex128
}

func readValues(t *testing.T, name string) (all []spiceValue) {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("testdata", "ngspice", name+".val"))
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(data)) {
		var v [5]float64
		if _, err := fmt.Sscan(line, &v[0], &v[1], &v[2], &v[3], &v[4]); err != nil {
			t.Fatalf("%s: %q: %v", name, line, err)
		}
		all = append(all, spiceValue{v[0], [2]complex128{complex(v[1], v[2]), complex(v[3], v[4])}})
	}
	return all
}

// playCase plays a case at a frequency and returns the amplitudes of both inputs.
func playCase(t *testing.T, c spiceCase, freqHz float64) [2]complex128 {
	t.Helper()
	j := full(t, c.jig)
	p, err := newPlayer(j.build(inserted{part: &c.part}), c.rateHz, newKernel())
	if err != nil {
		t.Fatal(err)
	}
	n := int(c.rateHz * 0.2)
	return playTone(t, p, c.rateHz, freqHz, int(c.rateHz*c.seconds)+n, n, c.drive)
}

// compare plays a case and compares with the values kept.
func compare(t *testing.T, name string, c spiceCase, tolerance float64) {
	t.Helper()
	worst, values := 0.0, readValues(t, name)
	if raceEnabled { // too slow for all
		values = values[:1]
	}
	for _, want := range values {
		got := playCase(t, c, want.freqHz)
		for ch := range got {
			e := cmplx.Abs(got[ch]-want.y[ch]) / cmplx.Abs(want.y[ch])
			worst = max(worst, e)
			if !(e <= tolerance) {
				t.Errorf("%g Hz, input %d: got %v, ngspice %v, apart by %.2g", want.freqHz, ch+1, got[ch], want.y[ch], e)
			}
		}
	}
	t.Logf("apart by %.2g at most", worst)
}

func TestNgspiceLinear(t *testing.T) {
	for name, c := range linearCases() {
		t.Run(name, func(t *testing.T) { compare(t, name, c, steadyTolerance) })
	}
}

// nonlinearTolerance is a tenth of the contract of the package, of the fundamental:
// at these frequencies, under 0.05 of the rate, the steps leave 3e-5 at most.
const nonlinearTolerance = 1e-4

func TestNgspiceNonlinear(t *testing.T) {
	for name, c := range nonlinearCases() {
		t.Run(name, func(t *testing.T) { compare(t, name, c, nonlinearTolerance) })
	}
}

// The values kept are what ngspice says of the netlists kept.
func TestNgspiceAgain(t *testing.T) {
	program, err := exec.LookPath("ngspice")
	if err != nil {
		t.Skip("ngspice is not installed (apt-get install ngspice); its values of old are used")
	}
	cases := map[string]float64{}
	for name := range linearCases() {
		cases[name] = 1e-9
	}
	for name := range nonlinearCases() {
		cases[name] = 1e-5 // another version may take other steps
	}
	for name, tolerance := range cases {
		t.Run(name, func(t *testing.T) { again(t, program, name, tolerance) })
	}
}

// again runs ngspice on a netlist and compares with what is kept, or replaces it.
func again(t *testing.T, program, name string, tolerance float64) {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	cmd := exec.CommandContext(ctx, program, "-b", name+".cir")
	cmd.Dir = filepath.Join("testdata", "ngspice")
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("ngspice: %v\n%s", err, out)
	}
	lines := printed(t, out)
	if *update {
		path := filepath.Join("testdata", "ngspice", name+".val")
		if err := os.WriteFile(path, []byte(strings.Join(lines, "\n")+"\n"), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	kept := readValues(t, name)
	if len(kept) != len(lines) || len(kept) == 0 {
		t.Fatalf("ngspice gave %d frequencies, %d are kept", len(lines), len(kept))
	}
	for i, line := range lines {
		var f, re1, im1, re2, im2 float64
		fmt.Sscan(line, &f, &re1, &im1, &re2, &im2)
		for ch, y := range []complex128{complex(re1, im1), complex(re2, im2)} {
			if !(cmplx.Abs(y-kept[i].y[ch]) <= tolerance*cmplx.Abs(y)) || math.Abs(f-kept[i].freqHz) > 1e-6 {
				t.Errorf("%g Hz, input %d: ngspice now %v, kept %v", f, ch+1, y, kept[i].y[ch])
			}
		}
	}
}

var printedValue = regexp.MustCompile(`^(frequency|v[ri]\(y\d\)|re\d|im\d) = ([-+.eE0-9]+)`)

// printed collects the values that ngspice printed, five to a line.
func printed(t *testing.T, out []byte) (lines []string) {
	t.Helper()
	var line []string
	for row := range bytes.Lines(out) {
		m := printedValue.FindSubmatch(row)
		if m == nil {
			continue
		}
		v, err := strconv.ParseFloat(string(m[2]), 64)
		if err != nil {
			t.Fatal(err)
		}
		if line = append(line, strconv.FormatFloat(v, 'g', -1, 64)); len(line) == 5 {
			lines = append(lines, strings.Join(line, " "))
			line = nil
		}
	}
	return lines
}
