package plot

import (
	"image/color"
	"sync"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/font/liberation"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// The colours are those of the bird: slate above, sand below, and a dark sienna
// for what is computed. In grey print slate is 20 % light, sienna 40 %, sand 80 %
// and the rules 90 %, which stay apart.
var (
	white  = color.White
	slate  = color.NRGBA{R: 0x2c, G: 0x36, B: 0x42, A: 0xff}
	grey   = color.NRGBA{R: 0x70, G: 0x76, B: 0x7c, A: 0xff}
	sand   = color.NRGBA{R: 0xe8, G: 0xc8, B: 0x8e, A: 0xff}
	sienna = color.NRGBA{R: 0xa0, G: 0x4a, B: 0x1f, A: 0xff}
	faint  = color.NRGBA{R: 0xe4, G: 0xe4, B: 0xe2, A: 0xff}
)

// The lines and marks.
var (
	curveLine = draw.LineStyle{Color: slate, Width: vg.Points(1.1)}
	ruleLine  = draw.LineStyle{Color: faint, Width: vg.Points(0.6)}
	axisLine  = draw.LineStyle{Color: grey, Width: vg.Points(0.7)}
	dot       = draw.GlyphStyle{Color: slate, Radius: vg.Points(1.7), Shape: draw.CircleGlyph{}}
	cross     = draw.GlyphStyle{Color: slate, Radius: vg.Points(3), Shape: draw.CrossGlyph{}}
	atLeast   = draw.GlyphStyle{Color: slate, Radius: vg.Points(3), Shape: draw.PyramidGlyph{}}
	atMost    = draw.GlyphStyle{Color: slate, Radius: vg.Points(3), Shape: upsideDown{}}
)

// upsideDown is a filled triangle that stands on its point.
type upsideDown struct{}

func (upsideDown) DrawGlyph(c *draw.Canvas, sty draw.GlyphStyle, at vg.Point) {
	c.SetColor(sty.Color)
	r := sty.Radius
	var p vg.Path
	p.Move(vg.Point{X: at.X - r, Y: at.Y + r*0.8})
	p.Line(vg.Point{X: at.X + r, Y: at.Y + r*0.8})
	p.Line(vg.Point{X: at.X, Y: at.Y - r})
	p.Close()
	c.Fill(p)
}

// fonts are read when the first picture is drawn, which takes a moment.
var fonts = sync.OnceValue(func() *font.Cache { return font.NewCache(liberation.Collection()) })

// style is upright letters without serifs.
func style(size vg.Length, c color.Color) text.Style {
	return text.Style{
		Color: c, Font: font.From(font.Font{Typeface: "Liberation", Variant: "Sans"}, size),
		XAlign: draw.XLeft, YAlign: draw.YBottom, Handler: text.Plain{Fonts: fonts()},
	}
}

func aligned(s text.Style, x text.XAlignment, y text.YAlignment) text.Style {
	s.XAlign, s.YAlign = x, y
	return s
}
