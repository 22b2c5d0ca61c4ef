package plot

import (
	"io"
	"math"

	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"example.org/wheatear/lockin/impedance"
)

// Phasor is one reading as an arrow: the impedance, or what is the same up to the
// scale, the voltage across the part while the current lies along the horizontal
// axis. The lines at 45 degrees part what is mostly a resistor from what is mostly
// a capacitor or an inductor.
type Phasor struct {
	Title, Note string
	Reading     impedance.Reading
	Value       string    // written where the arrow ends
	Parts       [2]string // along the two legs: resistance and reactance
}

// DrawPhasor writes the picture. ErrNothing is returned where the reading has no
// impedance.
func DrawPhasor(w io.Writer, p *Phasor, format Format) error {
	if !finite(p.Reading.Re.Value) || !finite(p.Reading.Im.Value) || p.Reading.Modulus.Value == 0 {
		return ErrNothing
	}
	return write(w, format, phasorHigh, p.draw)
}

// phasorReach is how far the horizontal axis goes, in |Z|.
const phasorReach = 1.45

var (
	arrowLine    = draw.LineStyle{Color: slate, Width: vg.Points(2.2)}
	legLine      = draw.LineStyle{Color: sienna, Width: vg.Points(1.3)}
	boundaryLine = draw.LineStyle{Color: grey, Width: vg.Points(0.9), Dashes: []vg.Length{vg.Points(5), vg.Points(4)}}
)

// plane maps ohm to the paper, with one scale for both axes.
type plane struct {
	c        draw.Canvas
	origin   vg.Point
	unit     float64 // points per ohm
	size     float64 // |Z|
	up, down float64 // shown above and below the horizontal axis, in |Z|
}

func (p plane) at(re, im float64) vg.Point {
	return vg.Point{X: p.origin.X + vg.Length(re*p.unit), Y: p.origin.Y + vg.Length(im*p.unit)}
}

func (f *Phasor) draw(c draw.Canvas) {
	c.SetColor(white)
	c.Fill(c.Rectangle.Path())
	(&sheet{figure: &Figure{Title: f.Title, Note: f.Note}}).head(c)
	area := draw.Crop(c, 40, -62, 40, -80)
	re, im := f.Reading.Re.Value, f.Reading.Im.Value
	pl := layOutPlane(area, re, im)
	pl.grid()
	pl.sectors()
	f.uncertainty(pl)
	f.legs(pl, re, im)
	f.arrow(pl, re, im)
}

// layOutPlane shows the half that the arrow points into, and a bit of the other.
func layOutPlane(area draw.Canvas, re, im float64) plane {
	const whole, rest = 1.15, 0.75
	size := math.Hypot(re, im)
	up, down := rest, rest
	switch {
	case im > size/3:
		up = whole
	case im < -size/3:
		down = whole
	}
	left := math.Max(0, -re/size*1.3)
	wide, high := float64(area.Max.X-area.Min.X), float64(area.Max.Y-area.Min.Y)
	p := plane{c: area, size: size, up: up, down: down}
	p.unit = math.Min(wide/((phasorReach+left)*size), high/((up+down)*size))
	p.origin = vg.Point{X: area.Min.X + vg.Length(left*size*p.unit), Y: area.Min.Y + vg.Length(down*size*p.unit)}
	p.origin.Y += vg.Length(high-(up+down)*size*p.unit) / 2
	return p
}

// grid are the axes and the 45-degree lines.
func (p plane) grid() {
	right := p.at(phasorReach*p.size, 0).X
	p.c.StrokeLine2(axisLine, p.at(math.Min(0, float64(p.c.Min.X-p.origin.X)/p.unit), 0).X, p.origin.Y, right, p.origin.Y)
	p.c.StrokeLine2(axisLine, p.origin.X, p.at(0, -p.down*p.size).Y, p.origin.X, p.at(0, p.up*p.size).Y)
	for _, end := range p.diagonals() {
		p.c.StrokeLine2(boundaryLine, p.origin.X, p.origin.Y, end.X, end.Y)
	}
	small := style(vg.Points(9), grey)
	p.c.FillText(aligned(small, draw.XLeft, draw.YCenter), vg.Point{X: right + 5, Y: p.origin.Y}, "resistance")
	p.c.FillText(aligned(small, draw.XLeft, draw.YBottom), vg.Point{X: p.origin.X - 5, Y: p.at(0, p.up*p.size).Y + 14}, "reactance")
}

// diagonals are the ends of the 45-degree lines, upper and lower.
func (p plane) diagonals() [2]vg.Point {
	up, down := 0.93*p.up*p.size, 0.93*p.down*p.size
	return [2]vg.Point{p.at(up, up), p.at(down, -down)}
}

// sectors are named at the ends of the 45-degree lines, on both sides.
func (p plane) sectors() {
	sty := style(vg.Points(10), grey)
	for i, end := range p.diagonals() {
		name, align, y := "inductor", draw.YBottom, end.Y+5
		if i == 1 {
			name, align, y = "capacitor", draw.YTop, end.Y-5
		}
		p.c.FillText(aligned(sty, draw.XCenter, align), vg.Point{X: end.X, Y: y}, "45°")
		p.c.FillText(aligned(sty, draw.XRight, align), vg.Point{X: end.X - 22, Y: y}, "mostly "+name)
		p.c.FillText(aligned(sty, draw.XLeft, align), vg.Point{X: end.X + 22, Y: y}, "mostly resistor")
	}
}

// uncertainty is the 95 % ellipse of the tip, if it is large enough to be seen.
func (f *Phasor) uncertainty(p plane) {
	r := f.Reading
	uRe, uIm, rho := r.Re.U, r.Im.U, r.Correlation
	if !finite(uRe) || !finite(uIm) {
		return
	}
	if !finite(rho) {
		rho = 0
	}
	const k95 = 2.4477 // chi-square of two degrees of freedom, 95 %: sqrt(-2·ln 0.05)
	var ring []vg.Point
	for i := range 73 {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / 72)
		x := k95 * uRe * cos
		y := k95 * uIm * (rho*cos + math.Sqrt(math.Max(0, 1-rho*rho))*sin)
		ring = append(ring, p.at(r.Re.Value+x, r.Im.Value+y))
	}
	p.c.FillPolygon(sand, p.c.ClipPolygonXY(ring))
}

// legs are resistance and reactance, at right angles.
func (f *Phasor) legs(p plane, re, im float64) {
	foot, tip := p.at(re, 0), p.at(re, im)
	p.c.StrokeLine2(legLine, p.origin.X, p.origin.Y, foot.X, foot.Y)
	p.c.StrokeLine2(legLine, foot.X, foot.Y, tip.X, tip.Y)
	sty := style(vg.Points(9), sienna)
	below := draw.YTop
	y := p.origin.Y - 5
	if im < 0 {
		below, y = draw.YBottom, p.origin.Y+5
	}
	if math.Abs(re)*p.unit > 30 {
		align, x := draw.XLeft, foot.X+6
		if foot.X-p.origin.X > sty.Width(f.Parts[0])+40 { // clear of the 45-degree line
			align, x = draw.XRight, foot.X-6
		}
		p.write(aligned(sty, align, below), vg.Point{X: x, Y: y}, f.Parts[0])
	}
	if math.Abs(im)*p.unit > 30 {
		p.write(aligned(sty, draw.XLeft, draw.YCenter), vg.Point{X: foot.X + 6, Y: (foot.Y + tip.Y) / 2}, f.Parts[1])
	}
}

// arrow is the impedance, with its value at the tip.
func (f *Phasor) arrow(p plane, re, im float64) {
	tip := p.at(re, im)
	size := math.Hypot(re, im)
	const head = 11
	dx, dy := vg.Length(re/size), vg.Length(im/size)
	base := vg.Point{X: tip.X - head*dx, Y: tip.Y - head*dy}
	p.c.StrokeLine2(arrowLine, p.origin.X, p.origin.Y, base.X, base.Y)
	p.c.FillPolygon(slate, []vg.Point{tip, {X: base.X - 4*dy, Y: base.Y + 4*dx}, {X: base.X + 4*dy, Y: base.Y - 4*dx}})
	sty := aligned(style(vg.Points(13), slate), draw.XLeft, draw.YCenter)
	at := vg.Point{X: tip.X + 10, Y: tip.Y}
	if math.Abs(im)*p.unit < 20 { // beside the axis, not on it
		at.Y += 14
	}
	if room := p.c.Max.X + 52 - at.X; sty.Width(f.Value) > room {
		at.X = p.c.Max.X + 52 - sty.Width(f.Value)
		at.Y += 16
		if im < 0 {
			at.Y -= 32
		}
	}
	p.write(sty, at, f.Value)
}

// write writes a text that no line goes through.
func (p plane) write(sty text.Style, at vg.Point, words string) {
	box := sty.Rectangle(words).Add(at)
	p.c.SetColor(white)
	p.c.Fill(box.Path())
	p.c.FillText(sty, at, words)
}
