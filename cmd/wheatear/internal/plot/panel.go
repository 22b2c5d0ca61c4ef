package plot

import (
	"math"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// panel is one quantity over frequency.
type panel struct {
	title  string
	unit   string
	height float64 // relative
	pick   picker
	x, y   axis
	ticks  []tick // of y
}

// newPanel finds the axis; ok is false where there is nothing to show. span is
// what the axis has at least, see axis.atLeast.
func newPanel(p panel, points []Point, span float64) (out panel, ok bool) {
	p.y, ok = covering(quantities(points, p.pick), p.y.log)
	if !ok {
		return p, false
	}
	if span == 0 { // of a value that does not change at all
		span = math.Max(1e-6*math.Abs(p.y.high), 1e-18)
	}
	p.y = p.y.atLeast(span).padded(0.08)
	p.ticks = p.y.ticks(p.unit)
	return p, true
}

// place is where a point is on a canvas.
func (p panel) place(c *draw.Canvas, freqHz, v float64) vg.Point {
	return vg.Point{X: c.X(p.x.at(freqHz)), Y: c.Y(math.Max(-9, math.Min(p.y.at(v), 9)))}
}

// draw fills the canvas, which holds the data area alone; what is written beside
// it lies outside.
func (p panel) draw(c draw.Canvas, points []Point, xticks []tick) {
	p.band(&c, points)
	p.rules(&c, xticks)
	p.curve(&c, points)
	p.labels(c)
}

// labels are written beside the data: the title above, the ticks at the left.
func (p panel) labels(c draw.Canvas) {
	name := style(vg.Points(9.5), slate)
	c.FillText(name, vg.Point{X: c.Min.X, Y: c.Max.Y + vg.Points(5)}, p.title)
	label := aligned(style(vg.Points(8.5), slate), draw.XRight, draw.YCenter)
	for _, t := range p.ticks {
		if t.text != "" {
			c.FillText(label, vg.Point{X: c.Min.X - vg.Points(6), Y: c.Y(p.y.at(t.value)) + vg.Points(1)}, t.text)
		}
	}
}

// rules are drawn over the band, so that values can be read in it.
func (p panel) rules(c *draw.Canvas, xticks []tick) {
	for _, t := range p.ticks {
		if y := c.Y(p.y.at(t.value)); t.text != "" {
			c.StrokeLine2(ruleLine, c.Min.X, y, c.Max.X, y)
		} else {
			c.StrokeLine2(axisLine, c.Min.X-vg.Points(2), y, c.Min.X, y)
		}
	}
	for _, t := range xticks {
		x := c.X(p.x.at(t.value))
		if t.text != "" {
			c.StrokeLine2(ruleLine, x, c.Min.Y, x, c.Max.Y)
		}
		c.StrokeLine2(axisLine, x, c.Min.Y, x, c.Min.Y-vg.Points(2))
	}
	c.StrokeLine2(axisLine, c.Min.X, c.Min.Y, c.Max.X, c.Min.Y)
	c.StrokeLine2(axisLine, c.Min.X, c.Min.Y, c.Min.X, c.Max.Y)
}

// runs are the stretches of neighbouring points that have a value.
func (p panel) runs(points []Point) [][]Point {
	var out [][]Point
	joined := false
	for _, pt := range points {
		if !pt.Trusted || !finite(p.pick(pt.Reading).Value) {
			joined = false
			continue
		}
		if !joined {
			out = append(out, nil)
		}
		out[len(out)-1] = append(out[len(out)-1], pt)
		joined = true
	}
	return out
}

// band fills what lies between the ends of the intervals.
func (p panel) band(c *draw.Canvas, points []Point) {
	for _, run := range p.runs(points) {
		var above, below []vg.Point
		for _, pt := range run {
			q := p.pick(pt.Reading)
			above = append(above, p.place(c, pt.FreqHz, orElse(q.High, math.MaxFloat64)))
			below = append(below, p.place(c, pt.FreqHz, orElse(q.Low, -math.MaxFloat64)))
		}
		if len(run) == 1 { // a band needs some width
			above, below = wide(above[0]), wide(below[0])
		}
		for i := len(below) - 1; i >= 0; i-- {
			above = append(above, below[i])
		}
		c.FillPolygon(sand, c.ClipPolygonXY(above))
	}
}

func wide(at vg.Point) []vg.Point {
	const half = 4
	return []vg.Point{{X: at.X - half, Y: at.Y}, {X: at.X + half, Y: at.Y}}
}

// orElse replaces an end that an interval does not have.
func orElse(end, other float64) float64 {
	if finite(end) {
		return end
	}
	return other
}

// mostDots is how many points are marked one by one.
const mostDots = 80

// curve joins the values.
func (p panel) curve(c *draw.Canvas, points []Point) {
	for _, run := range p.runs(points) {
		var line []vg.Point
		for _, pt := range run {
			at := p.place(c, pt.FreqHz, p.pick(pt.Reading).Value)
			line = append(line, at)
			if len(points) <= mostDots || len(run) == 1 {
				c.DrawGlyph(dot, at)
			}
		}
		c.StrokeLines(curveLine, c.ClipLinesXY(line)...)
	}
}
