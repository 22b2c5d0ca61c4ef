package touchstone

import (
	"bytes"
	"errors"
	"math"
	"math/cmplx"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// The same part, Z = 100 - 50j ohm at 1 kHz, in eight ways. S = (Z - R)/(Z + R),
// y = Y·R, z = Z/R by Touchstone Rev. 1.1; the digits by recomputation.
func TestReadOnePartInEightWays(t *testing.T) {
	for _, text := range []string{
		"# Hz Z RI R 50\n1000 2 -1\n",
		"# Hz Z MA R 50\n1000 2.236067977 -26.565051177\n",
		"# Hz Z DB R 50\n1000 6.989700043 -26.565051177\n",
		"# Hz S RI R 50\n1000 0.4 -0.2\n",
		"# Hz S MA R 50\n1000 0.447213595 -26.565051177\n",
		"# Hz S DB R 50\n1000 -6.989700043 -26.565051177\n",
		"# Hz Y RI R 50\n1000 0.4 0.2\n",
		"# kHz Z RI R 1\n1 100 -50\n",
		"! a comment\n# r 50 ri z HZ ! another\n\n1000 2 -1 ! a third\n# GHz S MA R 1\n",
	} {
		n, err := Read("part.s1p", strings.NewReader(text))
		if err != nil {
			t.Errorf("%q: %v", text, err)
			continue
		}
		if n.FreqHz[0] != 1000 || cmplx.Abs(n.Ohm[0]-complex(100, -50)) > 1e-6 { // ten printed digits
			t.Errorf("%q: %v at %v", text, n.Ohm, n.FreqHz)
		}
	}
}

func TestDefaultsOfTheOptionLine(t *testing.T) {
	n, err := Read("part.s1p", strings.NewReader("1 0 0\n2 1 0\n3 1 180\n")) // GHz, S, MA, R 50
	if err != nil {
		t.Fatal(err)
	}
	if n.FreqHz[0] != 1e9 || n.Ohm[0] != 50 || !cmplx.IsInf(n.Ohm[1]) || cmplx.Abs(n.Ohm[2]) > 1e-12 {
		t.Errorf("%+v", n)
	}
}

func TestReadRefuses(t *testing.T) {
	for _, c := range []struct {
		text string
		line int
		want error
	}{
		{"", 1, ErrEmpty}, {"! nothing\n# Hz Z RI R 1\n", 1, ErrEmpty},
		{"[Version] 2.0\n# Hz Z RI R 1\n", 1, ErrVersion},
		{"# Hz Z RI R 1\n1000 1\n", 2, ErrPorts},
		{"# Hz S RI R 50\n1000 1 2 3 4 5 6 7 8\n", 2, ErrPorts},
		{"# Hz Z RI R 1\n1000 1 2\n1000 1 2\n", 3, ErrOrder},
		{"# Hz Z RI R 1\n-1 1 2\n", 2, ErrOrder},
		{"# Hz Z RI R 1\n1000 x 2\n", 2, ErrNumber}, {"# Hz Z RI R 1\n1000 NaN 2\n", 2, ErrNumber},
		{"# Hz Z RI R 1\n1000 1e303 2\n", 2, ErrNumber}, {"# Hz Z RI R 1\n1000 1 -1e303\n", 2, ErrNumber}, {"# GHz Z RI R 1\n1e303 1 1\n", 2, ErrNumber},
		{"# Hz Z DB R 1\n1000 6060 2\n", 2, ErrNumber}, {"# Hz Y RI R 1\n1000 1e-303 0\n", 2, ErrNumber}, {"# Hz Z RI R 1e303\n", 1, ErrOption}, {"# Hz Z RI R1e-303\n", 1, ErrOption},
		{"# Hz Z RI R\n", 1, ErrOption}, {"# Hz Z RI R 0\n", 1, ErrOption}, {"# Hz H RI R 1\n", 1, ErrOption}, {"# Hz Z RI R 50 75\n", 1, ErrOption},
	} {
		_, err := Read("part.s1p", strings.NewReader(c.text))
		var at *LineError
		if !errors.Is(err, c.want) || !errors.As(err, &at) || at.Line != c.line || !strings.HasPrefix(err.Error(), "touchstone: part.s1p, line ") {
			t.Errorf("%q: %v, want line %d: %v", c.text, err, c.line, c.want)
		}
	}
}

func TestWhatIsWrittenReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := &Network{Comments: []string{"C3, 220 nF ± 1 nF\nof the kitchen-table jig"}}
		f := 0.0
		for range rapid.IntRange(1, 20).Draw(t, "points") {
			f += rapid.Float64Range(1e-3, 1e6).Draw(t, "step")
			n.FreqHz = append(n.FreqHz, f)
			n.Ohm = append(n.Ohm, complex(rapid.Float64Range(-1e9, 1e9).Draw(t, "re"), rapid.Float64Range(-1e9, 1e9).Draw(t, "im")))
		}
		var b bytes.Buffer
		form := rapid.SampledFrom([]Form{Scattering, Ohms}).Draw(t, "form")
		for i, z := range n.Ohm { // S of -50 ohm is infinite, and close to it useless
			if form == Scattering && cmplx.Abs(z+50) < 1 {
				n.Ohm[i] = 0
			}
		}
		if err := Write(&b, n, form); err != nil {
			t.Fatal(err)
		}
		back, err := Read("part.s1p", &b)
		if err != nil {
			t.Fatal(err)
		}
		for i, z := range n.Ohm {
			// Each way is a complex division, of some six roundings of 2^-53, between
			// two sums: there they stand in S, and dZ/dS = (Z + 50)²/100; back in Z.
			off := 0.0
			if form == Scattering {
				s := cmplx.Abs((z - 50) / (z + 50))
				off = 8 * 0x1p-53 * (2*(1+s)*cmplx.Abs(z+50)*cmplx.Abs(z+50)/100 + cmplx.Abs(z))
			}
			if back.FreqHz[i] != n.FreqHz[i] || cmplx.Abs(back.Ohm[i]-z) > off {
				t.Fatalf("%v at %v, was %v at %v", back.Ohm[i], back.FreqHz[i], z, n.FreqHz[i])
			}
		}
		if len(back.Comments) != 2 || back.Comments[0] != "C3, 220 nF +- 1 nF" {
			t.Fatalf("comments %q", back.Comments)
		}
	})
}

func TestWriteRefuses(t *testing.T) {
	for name, n := range map[string]*Network{
		"lengths":    {FreqHz: []float64{1}},
		"order":      {FreqHz: []float64{2, 1}, Ohm: []complex128{1, 1}},
		"not finite": {FreqHz: []float64{1}, Ohm: []complex128{cmplx.Inf()}},
		"no number":  {FreqHz: []float64{math.NaN()}, Ohm: []complex128{1}},
	} {
		if err := Write(&bytes.Buffer{}, n, Ohms); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
	if err := Write(&bytes.Buffer{}, &Network{FreqHz: []float64{1}, Ohm: []complex128{-50}}, Scattering); err == nil {
		t.Error("an S that is infinite was written")
	}
}

// Writers in the field take liberties; common practice, no source.
func TestReadIsLenient(t *testing.T) {
	for _, text := range []string{
		"# HZ Z RI R 1\r\n1000\t100\t-50\r\n", "\ufeff# hz z ri r 1\n1000 100 -50", "#Hz Z RI R1\n 1000   100 -50 \n", "# Hz Z RI r1.0\n1D3 1.0D+02 -5.0d1\n",
		"!\n!\n# Hz Z RI R 1\n1E+03 +1.0E+02 -50.000\n! end\n",
	} {
		n, err := Read("part.s1p", strings.NewReader(text))
		if err != nil || n.FreqHz[0] != 1000 || n.Ohm[0] != complex(100, -50) {
			t.Errorf("%q: %+v, %v", text, n, err)
		}
	}
	for _, text := range []string{"# Hz Z RI R\x001\n1 1 1", "# Hz Z RI r-5\n1 1 1", "# Hz Z RI rx\n1 1 1", "# Hz Z RI R 1\n0x10 1 1\n", "# Hz Z RI R 1\n1_0 1 1\n"} {
		if n, err := Read("part.s1p", strings.NewReader(text)); err == nil {
			t.Errorf("%q was taken: %+v", text, n)
		}
	}
}

func FuzzRead(f *testing.F) {
	f.Add([]byte("! c\n# kHz S DB R 75\n1 -3 45\n2 -4 40\n"))
	f.Add([]byte("1 0 0\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		n, err := Read("fuzz", bytes.NewReader(data))
		if err == nil && (len(n.FreqHz) == 0 || len(n.FreqHz) != len(n.Ohm)) {
			t.Errorf("%d frequencies, %d impedances", len(n.FreqHz), len(n.Ohm))
		}
	})
}
