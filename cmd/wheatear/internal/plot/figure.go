// Package plot draws readings over frequency: |Z| and phase, and the element that
// the part mostly is, each with its 95 % interval as a band. It draws what it is
// given and derives nothing.
package plot

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"
	"gonum.org/v1/plot/vg/vgsvg"

	"example.org/wheatear/lockin/impedance"
)

// Figure is what is drawn.
type Figure struct {
	Title  string // what was measured
	Note   string // how, in smaller letters below
	Points []Point
	// Element is drawn below |Z| and phase; the zero Element for what most points are.
	Element impedance.Element
}

// Point is a reading at the frequency asked for.
type Point struct {
	FreqHz  float64
	Reading impedance.Reading
	Trusted bool // one that is not has a mark, but no figures
}

// Format is a kind of picture.
type Format string

// The formats.
const (
	SVG Format = "svg"
	PNG Format = "png"
	PDF Format = "pdf"
)

// ErrNothing says that no point has anything to draw.
var ErrNothing = errors.New("no reading has anything to be drawn")

// FormatOf tells the format from the name of a file.
func FormatOf(file string) (Format, error) {
	switch ending := strings.ToLower(strings.TrimPrefix(filepath.Ext(file), ".")); Format(ending) {
	case SVG:
		return SVG, nil
	case PNG:
		return PNG, nil
	case PDF:
		return PDF, nil
	}
	return "", fmt.Errorf("%s: a plot is written as .svg, .png or .pdf; end the name so", file)
}

// The size of a picture, which is as high as its panels need: it fits between the
// margins of A4 and Letter, with letters of a size to be read there.
const (
	pictureWide = 17 * vg.Centimeter
	pictureHigh = 19 * vg.Centimeter // of three panels and more, and of planes
	twoHigh     = 14 * vg.Centimeter
	oneHigh     = 11 * vg.Centimeter
	phasorHigh  = 13 * vg.Centimeter
	dotsPerInch = 160
)

// highFor is the height of a picture of so many panels.
func highFor(panels int) vg.Length {
	switch panels {
	case 1:
		return oneHigh
	case 2:
		return twoHigh
	}
	return pictureHigh
}

// Draw writes the figure. Points may come in any order. ErrNothing is returned
// where none of them is trusted.
func Draw(w io.Writer, f *Figure, format Format) error {
	sheet, err := newSheet(f)
	if err != nil {
		return err
	}
	return write(w, format, highFor(len(sheet.panels)), sheet.draw)
}

// write makes a picture of what is painted.
func write(w io.Writer, format Format, high vg.Length, paint func(draw.Canvas)) error {
	canvas := newCanvas(format, high)
	paint(draw.New(canvas))
	var b bytes.Buffer
	if _, err := canvas.WriteTo(&b); err != nil {
		return err
	}
	picture := b.Bytes()
	if format == SVG {
		picture = bytes.ReplaceAll(picture, []byte(family), []byte(family+otherFamilies))
	}
	_, err := w.Write(picture)
	return err
}

// A viewer that lacks the letters which the picture was laid out with takes others
// of the same width, or at least without serifs.
const (
	family        = "font-family:Liberation Sans"
	otherFamilies = ",Arimo,Arial,Helvetica,sans-serif"
)

// canvas is a surface that can be written to a file.
type canvas interface {
	vg.CanvasSizer
	vg.CanvasWriterTo
}

func newCanvas(format Format, high vg.Length) canvas {
	switch format {
	case SVG:
		return vgsvg.New(pictureWide, high)
	case PDF:
		return newPDF(pictureWide, high)
	}
	return vgimg.PngCanvas{Canvas: vgimg.NewWith(vgimg.UseWH(pictureWide, high), vgimg.UseDPI(dotsPerInch))}
}
