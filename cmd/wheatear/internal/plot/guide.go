package plot

import (
	"math"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// legible drops what lies between the decades of an axis that has many of them.
func legible(a axis, ticks []tick) []tick {
	const many = 1e6
	if !a.log || a.high/a.low < many {
		return ticks
	}
	var out []tick
	for _, t := range ticks {
		if e := math.Log10(t.value); math.Abs(e-math.Round(e)) < 1e-9 {
			out = append(out, t)
		}
	}
	return out
}

// guide is a straight line across the picture.
func (s Series) guide(c *draw.Canvas, p panel) {
	c.StrokeLines(guideLine, s.stretch(c, p)...)
}

// stretch is what is seen of a guide.
func (s Series) stretch(c *draw.Canvas, p panel) [][]vg.Point {
	n := len(s.X) - 1
	return c.ClipLinesXY([]vg.Point{p.place(c, s.X[0], s.Y[0].Value), p.place(c, s.X[n], s.Y[n].Value)})
}

// nameGuides writes the texts of the guides where they cover no other and, as far as
// there is such a place, no curve. A guide without room for its text has none.
func (p ChartPanel) nameGuides(c *draw.Canvas, frame panel) {
	var taken []vg.Rectangle
	sty := aligned(style(vg.Points(7.5), slate), draw.XCenter, draw.YCenter)
	for _, s := range p.Series {
		if s.Style != Guide || s.Text == "" {
			continue
		}
		box, ok := p.room(c, frame, s, vg.Point{X: sty.Width(s.Text) + 4, Y: vg.Points(9)}, taken)
		if !ok {
			continue
		}
		taken = append(taken, box)
		c.SetColor(white)
		c.Fill(box.Path())
		c.FillText(sty, vg.Point{X: (box.Min.X + box.Max.X) / 2, Y: (box.Min.Y+box.Max.Y)/2 + 1}, s.Text)
	}
}

// room looks for a place on a guide, from its right end to the left.
func (p ChartPanel) room(c *draw.Canvas, frame panel, s Series, size vg.Point, taken []vg.Rectangle) (best vg.Rectangle, ok bool) {
	lines := s.stretch(c, frame)
	if len(lines) == 0 {
		return best, false
	}
	from, to := lines[0][0], lines[len(lines)-1][len(lines[len(lines)-1])-1]
	fewest := math.MaxInt
	const places = 24
	for k := range places + 1 {
		t := 1 - vg.Length(k)/places
		at := vg.Point{X: from.X + t*(to.X-from.X), Y: from.Y + t*(to.Y-from.Y)}
		box := vg.Rectangle{Min: vg.Point{X: at.X - size.X/2, Y: at.Y - size.Y/2}, Max: vg.Point{X: at.X + size.X/2, Y: at.Y + size.Y/2}}
		if box.Min.X < c.Min.X+2 || box.Max.X > c.Max.X-2 || box.Min.Y < c.Min.Y+2 || box.Max.Y > c.Max.Y-2 || overlaps(box, taken) {
			continue
		}
		if n := p.crossings(c, frame, s.Text, box); n < fewest {
			best, fewest, ok = box, n, true
		}
	}
	return best, ok
}

func overlaps(box vg.Rectangle, taken []vg.Rectangle) bool {
	for _, o := range taken {
		if box.Min.X < o.Max.X && o.Min.X < box.Max.X && box.Min.Y < o.Max.Y && o.Min.Y < box.Max.Y {
			return true
		}
	}
	return false
}

// crossings counts the curves and other guides that a box would cover, curves much
// more than guides.
func (p ChartPanel) crossings(c *draw.Canvas, frame panel, text string, box vg.Rectangle) int {
	n := 0
	for _, s := range p.Series {
		weight := 100
		if s.Style == Guide {
			weight = 1
		}
		if s.Style == Area || s.Style == Guide && s.Text == text {
			continue
		}
		for i := 1; i < len(s.X); i++ {
			if !finite(s.Y[i-1].Value) || !finite(s.Y[i].Value) {
				continue
			}
			if passes(frame.place(c, s.X[i-1], s.Y[i-1].Value), frame.place(c, s.X[i], s.Y[i].Value), box) {
				n += weight
				break
			}
		}
	}
	return n
}

// passes reports whether a line goes through a box: looked at in steps of the box's
// width.
func passes(from, to vg.Point, box vg.Rectangle) bool {
	steps := 1 + int(2*math.Abs(float64(to.X-from.X))/float64(box.Max.X-box.Min.X)) + int(2*math.Abs(float64(to.Y-from.Y))/float64(box.Max.Y-box.Min.Y))
	for k := range steps + 1 {
		t := vg.Length(k) / vg.Length(steps)
		x, y := from.X+t*(to.X-from.X), from.Y+t*(to.Y-from.Y)
		if x >= box.Min.X && x <= box.Max.X && y >= box.Min.Y && y <= box.Max.Y {
			return true
		}
	}
	return false
}
