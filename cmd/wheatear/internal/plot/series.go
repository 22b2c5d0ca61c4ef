package plot

import (
	"math"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// place is where point i is; ok is false where it is not finite.
func (s Series) place(c *draw.Canvas, p panel, i int) (at vg.Point, ok bool) {
	if !finite(s.X[i]) || !finite(s.Y[i].Value) || p.x.log && s.X[i] <= 0 {
		return at, false
	}
	return p.place(c, s.X[i], s.Y[i].Value), true
}

// runs are the stretches of neighbouring points that are finite, by index.
func (s Series) runs(p panel) [][]int {
	var out [][]int
	joined := false
	for i := range s.X {
		if !finite(s.X[i]) || !finite(s.Y[i].Value) || p.x.log && s.X[i] <= 0 {
			joined = false
			continue
		}
		if !joined {
			out = append(out, nil)
		}
		out[len(out)-1] = append(out[len(out)-1], i)
		joined = true
	}
	return out
}

// band fills what lies between the ends of the intervals.
func (s Series) band(c *draw.Canvas, p panel) {
	for _, run := range s.runs(p) {
		var above, below []vg.Point
		for _, i := range run {
			above = append(above, p.place(c, s.X[i], orElse(s.Y[i].High, math.MaxFloat64)))
			below = append(below, p.place(c, s.X[i], orElse(s.Y[i].Low, -math.MaxFloat64)))
		}
		if len(run) == 1 {
			above, below = wide(above[0]), wide(below[0])
		}
		for i := len(below) - 1; i >= 0; i-- {
			above = append(above, below[i])
		}
		c.FillPolygon(sand, c.ClipPolygonXY(above))
	}
}

func (s Series) draw(c *draw.Canvas, p panel) {
	switch s.Style {
	case Dots:
		s.dots(c, p)
	case Bars:
		s.bars(c, p)
	case Area:
	case Guide:
		s.guide(c, p)
	default:
		s.lines(c, p)
	}
}

// line is the stroke of a style.
func (s Series) line() draw.LineStyle {
	switch s.Style {
	case Line:
		return fitLine
	case Dashed:
		return dashedLine
	case Curve:
		return boldLine
	}
	return curveLine
}

func (s Series) lines(c *draw.Canvas, p panel) {
	for _, run := range s.runs(p) {
		var line []vg.Point
		for _, i := range run {
			at := p.place(c, s.X[i], s.Y[i].Value)
			line = append(line, at)
			if s.Style == Band && len(s.X) <= mostDots {
				c.DrawGlyph(dot, at)
			}
		}
		c.StrokeLines(s.line(), c.ClipLinesXY(line)...)
	}
}

// dots marks the points, with a bar for each interval.
func (s Series) dots(c *draw.Canvas, p panel) {
	for i := range s.X {
		at, ok := s.place(c, p, i)
		if !ok {
			continue
		}
		q := s.Y[i]
		if finite(q.Low) && finite(q.High) && q.High > q.Low {
			low, high := p.place(c, s.X[i], q.Low), p.place(c, s.X[i], q.High)
			c.StrokeLines(barLine, c.ClipLinesXY([]vg.Point{low, high})...)
		}
		c.DrawGlyph(dot, at)
	}
}

// bars stand on zero, or on the lower edge of a logarithmic axis, as wide as the
// points are apart.
func (s Series) bars(c *draw.Canvas, p panel) {
	for i := range s.X {
		at, ok := s.place(c, p, i)
		if !ok {
			continue
		}
		half := vg.Points(6)
		if len(s.X) > 1 {
			half = (p.place(c, s.X[1], 0).X - p.place(c, s.X[0], 0).X) * 0.45
		}
		foot := max(c.Min.Y, p.place(c, s.X[i], 0).Y)
		corner := vg.Rectangle{Min: vg.Point{X: at.X - half, Y: foot}, Max: vg.Point{X: at.X + half, Y: min(max(at.Y, foot), c.Max.Y)}}
		c.SetColor(sand)
		c.Fill(corner.Path())
		c.StrokeLine2(barLine, corner.Min.X, corner.Max.Y, corner.Max.X, corner.Max.Y)
		c.StrokeLine2(barLine, corner.Min.X, foot, corner.Min.X, corner.Max.Y)
		c.StrokeLine2(barLine, corner.Max.X, foot, corner.Max.X, corner.Max.Y)
	}
}

// draw rules the value across, with its word at the right.
func (v Level) draw(c *draw.Canvas, p panel) {
	y := c.Y(p.y.at(v.Y))
	if y < c.Min.Y || y > c.Max.Y {
		return
	}
	c.StrokeLine2(levelLine, c.Min.X, y, c.Max.X, y)
	sty := aligned(style(vg.Points(8), grey), draw.XRight, draw.YBottom)
	c.FillText(sty, vg.Point{X: c.Max.X - 3, Y: y + 1}, v.Text)
}

// edges are the outer ends of the first and the last column.
func (s Series) edges() []float64 {
	n := len(s.X)
	if s.Style != Bars || n < 2 {
		return nil
	}
	return []float64{s.X[0] - (s.X[1]-s.X[0])/2, s.X[n-1] + (s.X[n-1]-s.X[n-2])/2}
}

// sample shows a style in the key.
func (s Series) sample(c *draw.Canvas, x, y vg.Length) {
	if s.Style == Band || s.Style == Area || s.Style == Bars {
		c.SetColor(sand)
		box := vg.Rectangle{Min: vg.Point{X: x, Y: y - 4}, Max: vg.Point{X: x + 16, Y: y + 4}}
		c.Fill(box.Path())
		if s.Style == Bars {
			c.SetLineStyle(barLine)
			c.Stroke(box.Path())
		}
	}
	switch s.Style {
	case Dots:
		c.DrawGlyphNoClip(dot, vg.Point{X: x + 8, Y: y})
	case Bars, Area:
	default:
		c.StrokeLine2(s.line(), x, y, x+16, y)
	}
}
