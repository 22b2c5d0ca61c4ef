package plot

import (
	"bytes"
	"encoding/xml"
	"errors"
	"flag"
	"image"
	"image/png"
	"io"
	"math"
	"math/cmplx"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/uncertain"
)

// pictures writes the figures of these tests somewhere, to be looked at.
var pictures = flag.String("pictures", "", "write what is drawn into this folder")

// point is a reading of z, of which everything has the relative uncertainty rel.
func point(freqHz float64, z complex128, rel float64) Point {
	w := 2 * math.Pi * freqHz
	q := func(v, rel float64) uncertain.Quantity {
		return uncertain.Quantity{Value: v, U: rel * math.Abs(v) / 1.96, Low: v - rel*math.Abs(v), High: v + rel*math.Abs(v)}
	}
	r := impedance.Void(q(freqHz, 1e-6))
	r.State = impedance.OK
	r.Re, r.Im, r.Modulus = q(real(z), rel), q(imag(z), rel), q(cmplx.Abs(z), rel)
	phase := cmplx.Phase(z)
	r.Phase = uncertain.Quantity{Value: phase, U: rel / 1.96, Low: phase - rel, High: phase + rel}
	r.Series.R, r.Parallel.R = q(real(z), rel), q(1/real(1/z), rel)
	if imag(z) < 0 {
		r.Series.C, r.Parallel.C = q(-1/(w*imag(z)), rel), q(imag(1/z)/w, rel)
	} else {
		r.Series.L, r.Parallel.L = q(imag(z)/w, rel), q(-1/(w*imag(1/z)), rel)
	}
	r.Dominance = impedance.Dominance{Kind: impedance.KindOf(z), Likeliest: impedance.KindOf(z), Confidence: 1}
	r.Fitting.Circuit = impedance.SeriesCircuit
	return Point{FreqHz: freqHz, Reading: r, Trusted: true}
}

// over makes a figure of an impedance at n frequencies.
func over(title string, n int, z func(s complex128) complex128, rel func(freqHz float64) float64) *Figure {
	f := &Figure{Title: title, Note: "kitchen-table jig, corrected by cal.json of 2026-01-31"}
	for i := range n {
		hz := 20 * math.Pow(1000, float64(i)/float64(n-1))
		f.Points = append(f.Points, point(hz, z(complex(0, 2*math.Pi*hz)), rel(hz)))
	}
	return f
}

func capacitor(s complex128) complex128 { return 0.4 + 1/(s*100e-9) }
func coil(s complex128) complex128      { return 1 / (1/(12+s*0.1) + s*220e-12) }
func resistor(complex128) complex128    { return 470 }
func tank(s complex128) complex128      { return 1 / (1/(3+s*10e-3) + s*1e-6) }

func even(rel float64) func(float64) float64 { return func(float64) float64 { return rel } }

// figures are what readings may look like.
func figures() map[string]*Figure {
	bound := func(hz float64, low, high float64, state impedance.State) Point {
		p := point(hz, 1, 0.1)
		p.Reading = impedance.Void(p.Reading.FreqHz)
		p.Reading.State = state
		p.Reading.Modulus = uncertain.Quantity{Value: math.NaN(), U: math.NaN(), Low: low, High: high}
		return p
	}
	spoilt := over("film capacitor, twice not to be trusted", 31, capacitor, even(0.003))
	for _, i := range []int{7, 8} {
		spoilt.Points[i] = Point{FreqHz: spoilt.Points[i].FreqHz, Reading: impedance.Void(uncertain.Absent())}
	}
	ends := over("a part that leaves the range", 21, capacitor, even(0.01))
	ends.Points[0] = bound(20, 3e6, math.Inf(1), impedance.Open)
	ends.Points[20] = bound(20000, 0, 0.002, impedance.Short)
	wild := over("capacitor with a wide band at the lowest frequencies", 31, capacitor, func(hz float64) float64 { return 0.001 + 5/hz })
	only := &Figure{Title: "nothing between the terminals", Points: []Point{bound(100, 2e6, math.Inf(1), impedance.Open), bound(1000, 5e6, math.Inf(1), impedance.Open)}}
	long := over(strings.Repeat("a very long name of a part ", 9), 200, coil, even(0.01))
	narrow := over("three points in one octave", 3, resistor, even(0.002))
	for i := range narrow.Points {
		narrow.Points[i].FreqHz = []float64{1100, 1500, 1900}[i]
	}
	return map[string]*Figure{
		"capacitor": over("film capacitor", 31, capacitor, func(hz float64) float64 { return 0.002 + 1e-7*hz }),
		"coil":      over("choke beyond its resonance", 61, coil, even(0.02)),
		"resistor":  over("resistor", 31, resistor, even(0.0004)),
		"tank":      over("coil and capacitor", 101, tank, even(0.01)),
		"spoilt":    spoilt, "ends": ends, "wild": wild, "only": only, "long": long, "narrow": narrow,
		"single": {Title: "one frequency", Points: []Point{point(1000, 100-50i, 0.01)}},
	}
}

func TestDraw(t *testing.T) {
	for name, f := range figures() {
		for _, format := range []Format{SVG, PNG} {
			var b bytes.Buffer
			if err := Draw(&b, f, format); err != nil {
				t.Errorf("%s: %v", name, err)
				continue
			}
			keepPicture(t, name+"."+string(format), b.Bytes())
			checkPicture(t, name, b.Bytes(), format)
		}
	}
}

// checkPicture wants a picture that readers of its format take, with something
// drawn on it.
func checkPicture(t *testing.T, name string, data []byte, format Format) {
	if format == SVG {
		if n := bytes.Count(data, []byte("<text")); n == 0 || bytes.Count(data, []byte(family+otherFamilies)) != n {
			t.Errorf("%s: %d texts, not all with other families to fall back to", name, n)
		}
		dec := xml.NewDecoder(bytes.NewReader(data))
		for {
			if _, err := dec.Token(); err == io.EOF {
				return
			} else if err != nil {
				t.Errorf("%s: %v", name, err)
				return
			}
		}
	}
	img, err := png.Decode(bytes.NewReader(data))
	if err != nil {
		t.Errorf("%s: %v", name, err)
		return
	}
	if dark(img) < 1000 {
		t.Errorf("%s: the picture is empty", name)
	}
}

func dark(img image.Image) int {
	n := 0
	for y := img.Bounds().Min.Y; y < img.Bounds().Max.Y; y++ {
		for x := img.Bounds().Min.X; x < img.Bounds().Max.X; x++ {
			if r, _, _, _ := img.At(x, y).RGBA(); r < 0x8000 {
				n++
			}
		}
	}
	return n
}

func TestFormatOf(t *testing.T) {
	for file, want := range map[string]Format{"a.svg": SVG, "dir.png/b.SVG": SVG, "c.Png": PNG} {
		if got, err := FormatOf(file); err != nil || got != want {
			t.Errorf("%s: got %q, %v, want %q", file, got, err, want)
		}
	}
	for _, file := range []string{"plot", "plot.jpg", "svg", "dir.svg/plot"} {
		if got, err := FormatOf(file); err == nil {
			t.Errorf("%s: got %q, want an error", file, got)
		}
	}
}

func TestNothingToDraw(t *testing.T) {
	void := Point{FreqHz: 1000, Reading: impedance.Void(uncertain.Absent()), Trusted: true}
	odd := point(math.NaN(), 1, 0.1)
	for name, points := range map[string][]Point{"no point": nil, "none heard": {void}, "no frequency": {odd}} {
		if err := Draw(io.Discard, &Figure{Points: points}, SVG); !errors.Is(err, ErrNothing) {
			t.Errorf("%s: got %v, want ErrNothing", name, err)
		}
	}
}

// keepPicture writes a picture to be looked at, where that is wanted.
func keepPicture(t *testing.T, name string, picture []byte) {
	t.Helper()
	if *pictures == "" {
		return
	}
	if err := os.WriteFile(filepath.Join(*pictures, name), picture, 0o666); err != nil {
		t.Error(err)
	}
}
