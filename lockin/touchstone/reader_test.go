package touchstone

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
)

// witness reads a file with a library of others and prints it, point by point, and
// writes it anew in two other forms.
const witness = `
import sys, skrf
n = skrf.Network(sys.argv[1])
for f, s, z in zip(n.f, n.s[:, 0, 0], n.z0[:, 0]):
    print("point", repr(float(f)), repr(s.real), repr(s.imag), repr(z.real))
n.write_touchstone(sys.argv[1][:-4] + "-db", form="db")
n.write_touchstone(sys.argv[1][:-4] + "-ma", form="ma")
`

// withLibrary is a Python that has the library.
func withLibrary(t *testing.T) string {
	t.Helper()
	for _, python := range []string{"python3", "/usr/bin/python3"} {
		if exec.Command(python, "-c", "import skrf").Run() == nil {
			return python
		}
	}
	if os.Getenv("WHEATEAR_CI") != "" {
		t.Fatal("no library that reads Touchstone: apt-get install python3-scikit-rf")
	}
	t.Skip("no library that reads Touchstone (apt-get install python3-scikit-rf)")
	return ""
}

// An independent reader has from our file what we wrote, and we have from its files what
// it wrote.
func TestIndependentReader(t *testing.T) {
	python := withLibrary(t)
	n := &Network{Comments: []string{"a coil, 92 mH ± 1 mH"}}
	for i := range 31 {
		f := 20 * math.Pow(1000, float64(i)/30)
		w := 2 * math.Pi * f
		n.FreqHz = append(n.FreqHz, f)
		n.Ohm = append(n.Ohm, 1/(1/complex(33, 0.092*w)+complex(0, 1.1e-9*w)+1/220e3))
	}
	file := filepath.Join(t.TempDir(), "part.s1p")
	var b bytes.Buffer
	if err := Write(&b, n, Scattering); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, b.Bytes(), 0o666); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(python, "-W", "ignore", "-c", witness, file).Output()
	if err != nil {
		t.Fatal(err)
	}
	points := 0
	for line := range strings.Lines(string(out)) {
		line, ours := strings.CutPrefix(line, "point ")
		if !ours || points == len(n.FreqHz) {
			continue
		}
		i := points
		var f, re, im, r float64
		if _, err := fmt.Sscan(line, &f, &re, &im, &r); err != nil {
			t.Fatalf("%q: %v", line, err)
		}
		s := complex(re, im)
		z := complex(r, 0) * (1 + s) / (1 - s)
		// Z = 50(1+S)/(1-S) of up to 200 kohm keeps 1e-16·|Z|/50 of S's digits.
		if math.Abs(f/n.FreqHz[i]-1) > 1e-12 || cmplx.Abs(z/n.Ohm[i]-1) > 1e-11 {
			t.Errorf("%g Hz: %v, want %v at %g Hz", f, z, n.Ohm[i], n.FreqHz[i])
		}
		points++
	}
	if points != len(n.FreqHz) {
		t.Errorf("%d points, want %d:\n%s", points, len(n.FreqHz), out)
	}
	for _, form := range []string{"-db", "-ma"} {
		name := strings.TrimSuffix(file, ".s1p") + form + ".s1p"
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		back, err := Read(name, bytes.NewReader(text))
		if err != nil || len(back.Ohm) != len(n.Ohm) {
			t.Fatalf("%s: %v\n%s", form, err, text)
		}
		for i, z := range n.Ohm {
			if cmplx.Abs(back.Ohm[i]/z-1) > 1e-8 || math.Abs(back.FreqHz[i]/n.FreqHz[i]-1) > 1e-9 {
				t.Errorf("%s at %g Hz: %v, want %v", form, n.FreqHz[i], back.Ohm[i], z)
			}
		}
	}
}
