package plot

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"io"
	"math"

	"codeberg.org/go-pdf/fpdf"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
)

// pdfCanvas draws into a PDF file. Letters are written as such, in a font that is in
// the file as far as it is needed, so that Ω, µ and what people call their parts come
// out, can be selected and searched for. A y of the drawing counts upwards, of the file
// downwards.
type pdfCanvas struct {
	doc        *fpdf.Fpdf
	wide, high vg.Length
	width      vg.Length // of lines
	widths     []vg.Length
	fonts      map[string]bool
}

func newPDF(wide, high vg.Length) *pdfCanvas {
	doc := fpdf.NewCustom(&fpdf.InitType{UnitStr: "pt", Size: fpdf.SizeType{Wd: wide.Points(), Ht: high.Points()}})
	doc.SetMargins(0, 0, 0)
	doc.SetAutoPageBreak(false, 0)
	doc.SetCreator("wheatear", false)
	doc.AddPage()
	c := &pdfCanvas{doc: doc, wide: wide, high: high, fonts: map[string]bool{}}
	vg.Initialize(c)
	return c
}

func (c *pdfCanvas) Size() (vg.Length, vg.Length) { return c.wide, c.high }

// at is a place on the page.
func (c *pdfCanvas) at(p vg.Point) (x, y float64) { return p.X.Points(), (c.high - p.Y).Points() }

func (c *pdfCanvas) SetLineWidth(w vg.Length) {
	c.width = w
	c.doc.SetLineWidth(w.Points())
}

func (c *pdfCanvas) SetLineDash(dashes []vg.Length, offset vg.Length) {
	list := make([]float64, len(dashes))
	for i, d := range dashes {
		list[i] = d.Points()
	}
	c.doc.SetDashPattern(list, offset.Points())
}

func (c *pdfCanvas) SetColor(to color.Color) {
	if to == nil {
		to = color.Black
	}
	n := color.NRGBAModel.Convert(to).(color.NRGBA)
	r, g, b := int(n.R), int(n.G), int(n.B)
	c.doc.SetFillColor(r, g, b)
	c.doc.SetDrawColor(r, g, b)
	c.doc.SetTextColor(r, g, b)
	c.doc.SetAlpha(float64(n.A)/math.MaxUint8, "Normal")
}

func (c *pdfCanvas) Rotate(radian float64) {
	c.doc.TransformRotate(radian*180/math.Pi, 0, c.high.Points())
}

func (c *pdfCanvas) Translate(p vg.Point) { c.doc.TransformTranslate(p.X.Points(), -p.Y.Points()) }

func (c *pdfCanvas) Scale(x, y float64) {
	const percent = 100
	c.doc.TransformScale(x*percent, y*percent, 0, c.high.Points())
}

func (c *pdfCanvas) Push() {
	c.widths = append(c.widths, c.width)
	c.doc.TransformBegin()
}

func (c *pdfCanvas) Pop() {
	c.width, c.widths = c.widths[len(c.widths)-1], c.widths[:len(c.widths)-1]
	c.doc.TransformEnd()
}

func (c *pdfCanvas) Stroke(p vg.Path) {
	if c.width > 0 {
		c.draw(p, "D")
	}
}

func (c *pdfCanvas) Fill(p vg.Path) { c.draw(p, "F") }

// draw draws a path; how is D for its line, F for its area.
func (c *pdfCanvas) draw(p vg.Path, how string) {
	for _, part := range p {
		switch part.Type {
		case vg.MoveComp:
			c.doc.MoveTo(c.at(part.Pos))
		case vg.LineComp:
			c.doc.LineTo(c.at(part.Pos))
		case vg.ArcComp:
			c.arc(part)
		case vg.CurveComp:
			c.curve(part.Control, part.Pos)
		case vg.CloseComp:
			c.doc.ClosePath()
		}
	}
	c.doc.DrawPath(how)
}

// curve goes to a place by way of one or two points of control.
func (c *pdfCanvas) curve(control []vg.Point, to vg.Point) {
	x0, y0 := c.at(control[0])
	x, y := c.at(to)
	if len(control) == 1 {
		c.doc.CurveTo(x0, y0, x, y)
		return
	}
	x1, y1 := c.at(control[1])
	c.doc.CurveBezierCubicTo(x0, y0, x1, y1, x, y)
}

// arc is drawn in pieces of a quarter at most, each a cubic curve whose tangents are
// 4/3·tan(angle/4) of the radius, which is off by 0.03 % of the radius at the most.
func (c *pdfCanvas) arc(a vg.PathComp) {
	place := func(angle, along float64) vg.Point {
		sin, cos := math.Sincos(angle)
		return vg.Point{X: a.Pos.X + a.Radius*vg.Length(cos-along*sin), Y: a.Pos.Y + a.Radius*vg.Length(sin+along*cos)}
	}
	pieces := math.Max(1, math.Ceil(math.Abs(a.Angle)/(math.Pi/2)-1e-9))
	step := a.Angle / pieces
	tangent := 4.0 / 3 * math.Tan(step/4)
	c.doc.LineTo(c.at(place(a.Start, 0)))
	for i := range int(pieces) {
		from := a.Start + float64(i)*step
		c.curve([]vg.Point{place(from, tangent), place(from+step, -tangent)}, place(from+step, 0))
	}
}

func (c *pdfCanvas) FillString(f font.Face, at vg.Point, text string) {
	if f.Font.Size == 0 {
		return
	}
	name := f.Name()
	if !c.fonts[name] {
		var letters bytes.Buffer
		if _, err := f.Face.WriteSourceTo(nil, &letters); err != nil {
			c.doc.SetError(err)
			return
		}
		c.doc.AddUTF8FontFromBytes(name, "", letters.Bytes())
		c.fonts[name] = true
	}
	c.doc.SetFont(name, "", f.Font.Size.Points())
	x, y := c.at(at)
	c.doc.Text(x, y, text)
}

func (c *pdfCanvas) DrawImage(box vg.Rectangle, picture image.Image) {
	var b bytes.Buffer
	if err := png.Encode(&b, picture); err != nil {
		c.doc.SetError(err)
		return
	}
	options := fpdf.ImageOptions{ImageType: "png"}
	name := fmt.Sprintf("picture at %v", box)
	c.doc.RegisterImageOptionsReader(name, options, &b)
	x, y := c.at(vg.Point{X: box.Min.X, Y: box.Max.Y})
	c.doc.ImageOptions(name, x, y, box.Size().X.Points(), box.Size().Y.Points(), false, options, 0, "")
}

func (c *pdfCanvas) WriteTo(w io.Writer) (int64, error) {
	var b bytes.Buffer
	if err := c.doc.Output(&b); err != nil {
		return 0, fmt.Errorf("plot: a PDF that cannot be written: %w", err)
	}
	return b.WriteTo(w)
}
