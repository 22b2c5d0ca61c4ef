package plot

import (
	"io"
	"math"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"example.org/wheatear/lockin/uncertain"
)

// Chart is any quantities over a common axis, in panels below each other, in the
// look of [Figure].
type Chart struct {
	Title, Note string
	X           Scale
	Panels      []ChartPanel
}

// Scale is an axis: what it shows, in which unit, and how.
type Scale struct {
	Name, Unit string
	Log        bool
	Low, High  float64 // ends, where both are given; else the data decide
}

// ChartPanel is one vertical axis and what is drawn over it.
type ChartPanel struct {
	Y      Scale
	Height float64 // relative to the other panels; 0 means 1
	Series []Series
	Levels []Level // values marked by a line across
	Square bool    // both axes have one scale, as in a plane of complex numbers
}

// Level is a value worth a line, with a word at its right end.
type Level struct {
	Y    float64
	Text string
}

// Style is how a series looks. All can be told apart in grey print.
type Style uint8

// The styles.
const (
	Band   Style = iota // the curve, its points, and a band for the intervals
	Dots                // points with bars for their intervals
	Line                // a line without marks
	Dashed              // likewise, broken
	Bars                // columns standing on zero
	Area                // a band alone
	Guide               // a thin straight line behind the curves, with a text on it
	Curve               // a bold line without marks
)

// Series is a list of points; X and Y have the same length. Points that are not
// finite leave gaps.
type Series struct {
	Name  string // for the key; empty for none
	X     []float64
	Y     []uncertain.Quantity
	Style Style
	Text  string // on a Guide
}

// Exactly makes quantities of plain numbers, for series without intervals.
func Exactly(values []float64) []uncertain.Quantity {
	out := make([]uncertain.Quantity, len(values))
	for i, v := range values {
		out[i] = uncertain.Quantity{Value: v, Low: v, High: v}
	}
	return out
}

var (
	fitLine    = draw.LineStyle{Color: sienna, Width: vg.Points(1.2)}
	dashedLine = draw.LineStyle{Color: sienna, Width: vg.Points(1), Dashes: []vg.Length{vg.Points(4), vg.Points(3)}}
	boldLine   = draw.LineStyle{Color: slate, Width: vg.Points(2.4)}
	barLine    = draw.LineStyle{Color: slate, Width: vg.Points(0.8)}
	guideLine  = draw.LineStyle{Color: grey, Width: vg.Points(0.4)}
	levelLine  = draw.LineStyle{Color: grey, Width: vg.Points(0.8), Dashes: []vg.Length{vg.Points(2), vg.Points(2)}}
)

// DrawChart writes a chart. ErrNothing is returned where it has no finite point.
func DrawChart(w io.Writer, c *Chart, format Format) error {
	l, err := c.layOut()
	if err != nil {
		return err
	}
	return write(w, format, c.high(), l.draw)
}

// high is the height of the picture; what is square needs all there is.
func (c *Chart) high() vg.Length {
	for _, p := range c.Panels {
		if p.Square {
			return pictureHigh
		}
	}
	return highFor(len(c.Panels))
}

// laidOut is a chart with its axes.
type laidOut struct {
	*Chart
	x      axis
	xticks []tick
	y      []axis
	yticks [][]tick
}

func (c *Chart) layOut() (*laidOut, error) {
	l := &laidOut{Chart: c}
	var xs []float64
	for _, p := range c.Panels {
		for _, s := range p.Series {
			for i, x := range s.X {
				if finite(s.Y[i].Value) {
					xs = append(xs, x)
				}
			}
			xs = append(xs, s.edges()...)
		}
	}
	var ok bool
	if l.x, ok = c.X.axis(Exactly(xs), 0.03); !ok {
		return nil, ErrNothing
	}
	l.xticks = l.x.ticks(c.X.Unit)
	for _, p := range c.Panels {
		var all []uncertain.Quantity
		for _, s := range p.Series {
			all = append(all, s.Y...)
			if s.Style == Bars {
				all = append(all, uncertain.Quantity{})
			}
		}
		for _, v := range p.Levels {
			all = append(all, uncertain.Quantity{Value: v.Y, Low: v.Y, High: v.Y})
		}
		a, ok := p.Y.axis(all, 0.08)
		if !ok {
			return nil, ErrNothing
		}
		if p.standing() && a.low < 0 && !a.log {
			a.low = 0
		}
		l.y = append(l.y, a)
		l.yticks = append(l.yticks, legible(a, a.ticks(p.Y.Unit)))
	}
	return l, nil
}

// standing reports whether columns are drawn, and nothing below zero.
func (p ChartPanel) standing() bool {
	columns := false
	for _, s := range p.Series {
		columns = columns || s.Style == Bars
		for _, q := range s.Y {
			if q.Value < 0 {
				return false
			}
		}
	}
	return columns
}

// axis finds the ends where they are not given.
func (s Scale) axis(list []uncertain.Quantity, padding float64) (axis, bool) {
	if s.Low < s.High {
		return axis{s.Low, s.High, s.Log}, true
	}
	a, ok := covering(list, s.Log)
	if !ok || s.Log && !(a.low > 0) {
		return a, false
	}
	span := math.Max(1e-6*math.Abs(a.high), 1e-18)
	if s.Log {
		span = 1.5
	}
	return a.atLeast(span).padded(padding), true
}

func (l *laidOut) draw(c draw.Canvas) {
	c.SetColor(white)
	c.Fill(c.Rectangle.Path())
	(&sheet{figure: &Figure{Title: l.Title, Note: l.Note}}).head(c)
	area := draw.Crop(c, l.labelWidth()+marginLeft, -marginRight, marginBottom, -marginTop)
	total := 0.0
	for _, p := range l.Panels {
		total += height(p)
	}
	room := float64(area.Max.Y-area.Min.Y) - headHigh*float64(len(l.Panels))
	top := area.Max.Y
	for i, p := range l.Panels {
		cell := area
		cell.Max.Y = top - headHigh
		cell.Min.Y = cell.Max.Y - vg.Length(room*height(p)/total)
		top = cell.Min.Y
		l.panel(cell, i)
	}
	l.foot(area)
}

func height(p ChartPanel) float64 {
	if p.Height == 0 {
		return 1
	}
	return p.Height
}

func (l *laidOut) labelWidth() vg.Length {
	sty, most := style(vg.Points(8.5), slate), vg.Length(0)
	for _, ticks := range l.yticks {
		for _, t := range ticks {
			most = max(most, sty.Width(t.text))
		}
	}
	return most + vg.Points(6)
}

// panel draws the panel of a number into the area of its data.
func (l *laidOut) panel(c draw.Canvas, i int) {
	p, x, y := l.Panels[i], l.x, l.y[i]
	if p.Square {
		x, y = oneScale(c, x, y)
	}
	frame := panel{title: p.Y.Name, x: x, y: y, ticks: l.yticks[i]}
	xticks := l.xticks
	if p.Square {
		frame.ticks, xticks = y.ticks(p.Y.Unit), x.ticks(l.X.Unit)
		l.xticks = xticks
		l.x = x
	}
	for _, s := range p.Series {
		if s.Style == Band || s.Style == Area {
			s.band(&c, frame)
		}
	}
	frame.rules(&c, xticks)
	for _, v := range p.Levels {
		v.draw(&c, frame)
	}
	for _, s := range p.Series {
		s.draw(&c, frame)
	}
	p.nameGuides(&c, frame)
	frame.labels(c)
}

// oneScale widens one of two linear axes until both have the same length per unit.
func oneScale(c draw.Canvas, x, y axis) (axis, axis) {
	wide, high := float64(c.Max.X-c.Min.X), float64(c.Max.Y-c.Min.Y)
	perX, perY := (x.high-x.low)/wide, (y.high-y.low)/high
	if perX < perY {
		return x.atLeast(perY * wide), y
	}
	return x, y.atLeast(perX * high)
}

// foot writes the common axis and the key.
func (l *laidOut) foot(c draw.Canvas) {
	label := aligned(style(vg.Points(8.5), slate), draw.XCenter, draw.YTop)
	free := c.Min.X - vg.Points(100)
	for _, t := range l.xticks {
		at := c.X(l.x.at(t.value))
		half := label.Width(t.text) / 2
		if t.text == "" || at-half < free {
			continue
		}
		c.FillText(label, vg.Point{X: at, Y: c.Min.Y - 5}, t.text)
		free = at + half + vg.Points(4)
	}
	name := aligned(style(vg.Points(9.5), slate), draw.XRight, draw.YTop)
	c.FillText(name, vg.Point{X: c.Max.X, Y: c.Min.Y - 22}, l.X.Name)
	l.key(c, c.Max.X-name.Width(l.X.Name)-20)
}

// key names the series, once each.
func (l *laidOut) key(c draw.Canvas, end vg.Length) {
	x, y := c.Min.X, c.Min.Y-28
	sty := aligned(style(vg.Points(8.5), slate), draw.XLeft, draw.YCenter)
	named := map[string]bool{"": true}
	for _, p := range l.Panels {
		for _, s := range p.Series {
			if named[s.Name] || x+21+sty.Width(s.Name) > end {
				continue
			}
			named[s.Name] = true
			s.sample(&c, x, y)
			c.FillText(sty, vg.Point{X: x + 21, Y: y}, s.Name)
			x += 21 + sty.Width(s.Name) + 16
		}
	}
}
