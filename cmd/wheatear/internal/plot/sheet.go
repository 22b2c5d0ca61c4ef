package plot

import (
	"math"
	"slices"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"example.org/wheatear/lockin/impedance"
)

// sheet is a figure laid out: panels below each other over one axis of frequency.
type sheet struct {
	figure *Figure
	points []Point // in order of frequency
	panels []panel
	x      axis
	xticks []tick
}

// Spans that axes have at least.
const (
	leastDecade  = 10 // of |Z|, as a ratio
	leastDegrees = 10
	logFrom      = 30 // ratio from which on an element is drawn logarithmically
)

func newSheet(f *Figure) (*sheet, error) {
	s := &sheet{figure: f, points: slices.Clone(f.Points)}
	slices.SortStableFunc(s.points, func(a, b Point) int {
		switch {
		case a.FreqHz < b.FreqHz:
			return -1
		case a.FreqHz > b.FreqHz:
			return 1
		}
		return 0
	})
	s.points = slices.DeleteFunc(s.points, func(p Point) bool { return !(p.FreqHz > 0) || !finite(p.FreqHz) })
	if !slices.ContainsFunc(s.points, shows) {
		return nil, ErrNothing
	}
	s.x = axis{s.points[0].FreqHz, s.points[len(s.points)-1].FreqHz, true}.atLeast(4).padded(0.02)
	s.xticks = s.x.ticks("Hz")
	s.fill()
	return s, nil
}

// shows reports whether a point has anything to draw.
func shows(p Point) bool {
	m := p.Reading.Modulus
	return p.Trusted && (finite(m.Value) || m.Low > 0 && finite(m.Low) || m.High > 0 && finite(m.High))
}

// fill makes the panels that have anything to show.
func (s *sheet) fill() {
	mod, ok := newPanel(panel{title: "impedance |Z|", unit: "Ω", height: 5, pick: modulus, x: s.x, y: axis{log: true}}, s.points, leastDecade)
	if !ok {
		mod = s.bounds(mod)
	}
	s.panels = append(s.panels, mod)
	if p, ok := newPanel(panel{title: "phase", unit: "°", height: 3, pick: degrees, x: s.x}, s.points, leastDegrees); ok {
		s.panels = append(s.panels, p)
	}
	e := s.figure.Element
	if e.Kind == impedance.Undecided {
		e = mainOf(s.points)
	}
	if e.Kind == impedance.ModulusZ {
		return
	}
	p := panel{title: e.Words(), unit: e.Unit(), height: 4, pick: e.In, x: s.x}
	span := 0.0
	if a, ok := covering(quantities(s.points, e.In), false); ok && a.low > 0 && a.high > logFrom*a.low {
		p.y.log, span = true, logFrom
	}
	if p, ok := newPanel(p, s.points, span); ok {
		s.panels = append(s.panels, p)
	}
}

// bounds is the panel of |Z| where nothing but bounds is known.
func (s *sheet) bounds(p panel) panel {
	a := axis{math.Inf(1), 0, true}
	for _, pt := range s.points {
		if v, _, ok := bound(pt); ok {
			a.low, a.high = math.Min(a.low, v), math.Max(a.high, v)
		}
	}
	p.y = a.atLeast(leastDecade).padded(0.08)
	p.ticks = p.y.ticks(p.unit)
	return p
}

// bound is what is known of |Z| of an open or a short, and its mark.
func bound(p Point) (ohm float64, mark draw.GlyphStyle, ok bool) {
	m := p.Reading.Modulus
	switch {
	case !p.Trusted || finite(m.Value):
		return 0, mark, false
	case m.Low > 0 && finite(m.Low):
		return m.Low, atLeast, true
	case m.High > 0 && finite(m.High):
		return m.High, atMost, true
	}
	return 0, mark, false
}

// The places beside the panels.
const (
	marginTop    = 50
	marginBottom = 56
	marginRight  = 20
	marginLeft   = 14 // of labels
	headHigh     = 24 // above each panel
)

func (s *sheet) draw(c draw.Canvas) {
	c.SetColor(white)
	c.Fill(c.Rectangle.Path())
	s.head(c)
	area := draw.Crop(c, s.labelWidth()+marginLeft, -marginRight, marginBottom, -marginTop)
	total := 0.0
	for _, p := range s.panels {
		total += p.height
	}
	room := float64(area.Max.Y-area.Min.Y) - headHigh*float64(len(s.panels))
	top := area.Max.Y
	for i, p := range s.panels {
		cell := area
		cell.Max.Y = top - headHigh
		cell.Min.Y = cell.Max.Y - vg.Length(room*p.height/total)
		top = cell.Min.Y
		p.draw(cell, s.points, s.xticks)
		if i == 0 {
			s.marks(cell, p)
		}
	}
	s.foot(area)
}

// labelWidth is the room that the longest label of a vertical axis takes.
func (s *sheet) labelWidth() vg.Length {
	sty, most := style(vg.Points(8.5), slate), vg.Length(0)
	for _, p := range s.panels {
		for _, t := range p.ticks {
			most = max(most, sty.Width(t.text))
		}
	}
	return most + vg.Points(6)
}

// head writes title and note.
func (s *sheet) head(c draw.Canvas) {
	at := vg.Point{X: c.Min.X + marginLeft, Y: c.Max.Y - 14}
	c.FillText(aligned(style(vg.Points(12), slate), draw.XLeft, draw.YTop), at, fit(s.figure.Title, 12, c.Max.X-at.X-marginRight))
	at.Y -= 19
	c.FillText(aligned(style(vg.Points(8.5), grey), draw.XLeft, draw.YTop), at, fit(s.figure.Note, 8.5, c.Max.X-at.X-marginRight))
}

// fit shortens a text to a width.
func fit(text string, size float64, room vg.Length) string {
	sty := style(vg.Points(size), slate)
	letters := []rune(text)
	for len(letters) > 1 && sty.Width(text) > room {
		letters = letters[:len(letters)-1]
		text = string(letters) + "…"
	}
	return text
}

// marks shows opens and shorts by their bounds, and what is not to be trusted on
// the lower edge.
func (s *sheet) marks(c draw.Canvas, p panel) {
	for _, pt := range s.points {
		if v, mark, ok := bound(pt); ok {
			at := p.place(&c, pt.FreqHz, v)
			at.Y = max(c.Min.Y+4, min(at.Y, c.Max.Y-4))
			c.DrawGlyphNoClip(mark, at)
		}
		if !pt.Trusted {
			c.DrawGlyphNoClip(cross, vg.Point{X: c.X(p.x.at(pt.FreqHz)), Y: c.Min.Y + 6})
		}
	}
}

// foot writes the frequencies and what the marks mean.
func (s *sheet) foot(c draw.Canvas) {
	label := aligned(style(vg.Points(8.5), slate), draw.XCenter, draw.YTop)
	for _, t := range s.xticks {
		if t.text != "" {
			c.FillText(label, vg.Point{X: c.X(s.x.at(t.value)), Y: c.Min.Y - 5}, t.text)
		}
	}
	name := aligned(style(vg.Points(9.5), slate), draw.XRight, draw.YTop)
	c.FillText(name, vg.Point{X: c.Max.X, Y: c.Min.Y - 22}, "frequency")
	s.key(c)
}

// key explains the band, and the marks that are there.
func (s *sheet) key(c draw.Canvas) {
	x, y := c.Min.X, c.Min.Y-28
	sty := aligned(style(vg.Points(8.5), slate), draw.XLeft, draw.YCenter)
	write := func(text string) {
		c.FillText(sty, vg.Point{X: x, Y: y}, text)
		x += sty.Width(text) + 18
	}
	c.SetColor(sand)
	box := vg.Rectangle{Min: vg.Point{X: x, Y: y - 4}, Max: vg.Point{X: x + 16, Y: y + 4}}
	c.Fill(box.Path())
	c.StrokeLine2(curveLine, x, y, x+16, y)
	x += 21
	write("reading with its 95 % interval")
	for _, k := range []struct {
		mark draw.GlyphStyle
		text string
		has  func(Point) bool
	}{
		{atLeast, "at least", isBound(atLeast)},
		{atMost, "at most", isBound(atMost)},
		{cross, "not to be trusted", func(p Point) bool { return !p.Trusted }},
	} {
		if slices.ContainsFunc(s.points, k.has) {
			c.DrawGlyphNoClip(k.mark, vg.Point{X: x + 3, Y: y})
			x += 10
			write(k.text)
		}
	}
}

func isBound(want draw.GlyphStyle) func(Point) bool {
	return func(p Point) bool {
		_, mark, ok := bound(p)
		return ok && mark == want
	}
}
