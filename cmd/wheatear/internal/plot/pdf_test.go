package plot

import (
	"bytes"
	"fmt"
	"image"
	"image/png"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"example.org/wheatear/cmd/wheatear/internal/clitest"
)

// drawn are pictures of all kinds, each in any format.
func drawn() map[string]func(io.Writer, Format) error {
	out := map[string]func(io.Writer, Format) error{}
	for _, name := range []string{"coil", "ends", "spoilt"} {
		f := figures()[name]
		out[name] = func(w io.Writer, format Format) error { return Draw(w, f, format) }
	}
	for name, c := range charts() {
		out[name] = func(w io.Writer, format Format) error { return DrawChart(w, c, format) }
	}
	p := &Phasor{Title: "Größe µ, ∂ and Ω of Ж1", Reading: point(1000, 120-400i, 0.03).Reading, Value: "220.1 nF ± 0.3 nF", Parts: [2]string{"120 Ω", "−400 Ω"}}
	out["phasor"] = func(w io.Writer, format Format) error { return DrawPhasor(w, p, format) }
	return out
}

// What the reader of a PDF sees is what the PNG shows, its letters can be selected, and
// they are in the file.
func TestPDFIsThePicture(t *testing.T) {
	pdftoppm, pdftotext, pdffonts := clitest.Program(t, "pdftoppm", "poppler-utils"), clitest.Program(t, "pdftotext", "poppler-utils"), clitest.Program(t, "pdffonts", "poppler-utils")
	file := filepath.Join(t.TempDir(), "picture.pdf")
	run := func(program string, args ...string) []byte {
		t.Helper()
		out, err := exec.Command(program, args...).Output()
		if err != nil {
			t.Fatal(err)
		}
		return out
	}
	for name, paint := range drawn() {
		var pdf, svg, dots bytes.Buffer
		for format, b := range map[Format]*bytes.Buffer{PDF: &pdf, SVG: &svg, PNG: &dots} {
			if err := paint(b, format); err != nil {
				t.Fatalf("%s.%s: %v", name, format, err)
			}
		}
		if err := os.WriteFile(file, pdf.Bytes(), 0o666); err != nil {
			t.Fatal(err)
		}
		if most := 100 << 10; pdf.Len() > most {
			t.Errorf("%s: %d bytes", name, pdf.Len())
		}
		text := strings.Join(strings.Fields(string(run(pdftotext, file, "-"))), "")
		for words := range textsOf(t, svg.Bytes()) {
			if want := strings.Join(strings.Fields(words), ""); !strings.Contains(text, want) {
				t.Errorf("%s: %q cannot be selected; %q can", name, words, text)
			}
		}
		fonts := strings.Split(strings.TrimSpace(string(run(pdffonts, file))), "\n")[2:]
		for _, line := range fonts {
			if f := strings.Fields(line); len(fonts) != 1 || f[4] != "yes" || f[6] != "yes" { // embedded; tells its letters
				t.Errorf("%s: %s", name, line)
			}
		}
		got, err := png.Decode(bytes.NewReader(run(pdftoppm, "-r", fmt.Sprint(dotsPerInch), "-png", file)))
		if err != nil {
			t.Fatal(err)
		}
		want, err := png.Decode(&dots)
		if err != nil {
			t.Fatal(err)
		}
		compare(t, name, got, want)
	}
}

// compare holds two pictures against each other in blocks of half a millimetre and
// more, within which two programs may put the same line differently.
func compare(t *testing.T, name string, got, want image.Image) {
	t.Helper()
	const block, most = 20, 0.12
	a, b := got.Bounds(), want.Bounds()
	if d := a.Dx() - b.Dx(); d < -2 || d > 2 || math.Abs(float64(a.Dy()-b.Dy())) > 2 {
		t.Errorf("%s: %v, want %v", name, a, b)
		return
	}
	light := func(img image.Image, x, y int) float64 {
		sum := 0.0
		for i := range block {
			for j := range block {
				r, g, b, _ := img.At(x+i, y+j).RGBA()
				sum += (0.2126*float64(r) + 0.7152*float64(g) + 0.0722*float64(b)) / math.MaxUint16
			}
		}
		return sum / (block * block)
	}
	worst, at, total, n := 0.0, image.Point{}, 0.0, 0.0
	for y := 0; y+block < min(a.Dy(), b.Dy()); y += block {
		for x := 0; x+block < min(a.Dx(), b.Dx()); x += block {
			off := math.Abs(light(got, x, y) - light(want, x, y))
			total, n = total+off, n+1
			if off > worst {
				worst, at = off, image.Pt(x, y)
			}
		}
	}
	t.Logf("%s: at most %.3f apart, %.4f on average", name, worst, total/n)
	if worst > most || total/n > 0.01 {
		t.Errorf("%s: %.2f apart at %v, %.4f on average", name, worst, at, total/n)
	}
}

// A circle is one, and what is turned, moved and scaled is where it should be.
func TestPDFShapes(t *testing.T) {
	pdftoppm := clitest.Program(t, "pdftoppm", "poppler-utils")
	paint := func(c draw.Canvas) {
		c.SetColor(slate)
		var p vg.Path
		p.Move(vg.Point{X: 140, Y: 200})
		p.Arc(vg.Point{X: 100, Y: 200}, 40, 0, 2*math.Pi)
		p.Close()
		c.Fill(p)
		c.Push()
		c.Translate(vg.Point{X: 300, Y: 100})
		c.Rotate(math.Pi / 2)
		c.Scale(2, 1)
		c.FillString(fonts().Lookup(style(20, slate).Font, 20), vg.Point{}, "turned")
		c.SetLineStyle(dashedLine)
		var q vg.Path
		q.Move(vg.Point{X: 0, Y: -30})
		q.QuadTo(vg.Point{X: 60, Y: -100}, vg.Point{X: 100, Y: -30})
		q.CubeTo(vg.Point{X: 20, Y: -90}, vg.Point{X: 60, Y: -10}, vg.Point{X: 10, Y: -60})
		c.Stroke(q)
		c.Pop()
		box := image.NewGray(image.Rect(0, 0, 4, 4))
		c.DrawImage(vg.Rectangle{Min: vg.Point{X: 20, Y: 20}, Max: vg.Point{X: 60, Y: 50}}, box)
	}
	file := filepath.Join(t.TempDir(), "shapes.pdf")
	var pdf, dots bytes.Buffer
	if err := write(&pdf, PDF, oneHigh, paint); err != nil {
		t.Fatal(err)
	}
	if err := write(&dots, PNG, oneHigh, paint); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, pdf.Bytes(), 0o666); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(pdftoppm, "-r", fmt.Sprint(dotsPerInch), "-png", file).Output()
	if err != nil {
		t.Fatal(err)
	}
	got, err := png.Decode(bytes.NewReader(out))
	if err != nil {
		t.Fatal(err)
	}
	want, err := png.Decode(&dots)
	if err != nil {
		t.Fatal(err)
	}
	compare(t, "shapes", got, want)
	keepPicture(t, "shapes.pdf", pdf.Bytes())
	keepPicture(t, "shapes.png", dots.Bytes())
}
