package wiring

import (
	"fmt"
	"html"
	"strings"
)

// canvas collects the elements of one drawing. Lengths are in pixels, y runs
// down. Everything is black, white or grey, so that it prints.
type canvas struct{ strings.Builder }

// The size of a drawing.
const (
	canvasWidth  = 830
	canvasHeight = 560
)

func (c *canvas) elem(format string, args ...any) { fmt.Fprintf(c, format+"\n", args...) }

// wire joins points, given as x y x y …
func (c *canvas) wire(points ...int) {
	var p []string
	for i := 0; i+1 < len(points); i += 2 {
		p = append(p, fmt.Sprintf("%d,%d", points[i], points[i+1]))
	}
	c.elem(`<polyline points="%s" class="line"/>`, strings.Join(p, " "))
}

// label writes text; the anchor is start, middle or end.
func (c *canvas) label(x, y int, anchor, text string) { c.text(x, y, anchor, "", text) }

func (c *canvas) text(x, y int, anchor, class, text string) {
	c.elem(`<text x="%d" y="%d" text-anchor="%s" class="%s">%s</text>`, x, y, anchor, class, html.EscapeString(text))
}

// node marks where wires are joined.
func (c *canvas) node(x, y int) { c.elem(`<circle cx="%d" cy="%d" r="4" fill="#000"/>`, x, y) }

// terminal is a point to connect to.
func (c *canvas) terminal(x, y int) {
	c.elem(`<circle cx="%d" cy="%d" r="6" class="box"/>`, x, y)
}

func (c *canvas) box(x, y, w, h int, class string) {
	c.elem(`<rect x="%d" y="%d" width="%d" height="%d" class="%s"/>`, x-w/2, y-h/2, w, h, class)
}

// across is a resistor on a horizontal wire, its name above it.
func (c *canvas) across(x, y int, name string) {
	c.box(x, y, 64, 22, "box")
	c.label(x, y-18, "middle", name)
}

// down is an element on a vertical wire, its name to the left.
func (c *canvas) down(x, y int, name, class string) {
	c.box(x, y, 26, 64, class)
	c.label(x-24, y+5, "end", name)
}

// part is the part with its two terminals.
func (c *canvas) part(x, y int) {
	c.down(x, y, "part", "grey")
	for i, name := range []string{"A", "B"} {
		at := y - 50 + 100*i
		c.terminal(x, at)
		c.label(x-16, at+5, "end", name)
	}
}

// ground ends a wire at the ground of the card.
func (c *canvas) ground(x, y int) {
	for i, half := range []int{13, 8, 3} {
		c.wire(x-half, y+5*i, x+half, y+5*i)
	}
}

// clamp hangs a clamp on a wire and grounds it.
func (c *canvas) clamp(x, y int) {
	c.node(x, y)
	c.wire(x, y, x, y+44)
	c.box(x, y+24, 54, 20, "box")
	c.text(x, y+29, "middle", "small", "clamp")
	c.ground(x, y+44)
}

// input leads a wire from x, y through Ri, past a clamp, to a socket.
func (c *canvas) input(x, y int, name string) {
	c.wire(x, y, 640, y)
	c.across(470, y, "Ri")
	c.clamp(570, y)
	c.terminal(640, y)
	c.label(656, y+5, "start", name)
}

// output is the socket of the card, with Rs, up to x.
func (c *canvas) output(x, y int) {
	c.wire(90, y, x, y)
	c.across(180, y, "Rs")
	c.terminal(90, y)
	c.label(76, y+5, "end", "output")
}

// groundRail joins the grounds of output and inputs to x.
func (c *canvas) groundRail(x, y int) {
	c.wire(90, y, 640, y)
	c.terminal(90, y)
	c.terminal(640, y)
	c.label(76, y+5, "end", "ground")
	c.label(656, y+5, "start", "ground")
	c.node(x, y)
}

// diode points down, or up where turn is -1.
func (c *canvas) diode(x, y, turn int) {
	c.elem(`<path d="M%d,%d h16 l-8,%d z" class="box"/>`, x-8, y-6*turn, 12*turn)
	c.wire(x-8, y+6*turn, x+8, y+6*turn)
}

// clampKey shows what a clamp is made of.
func (c *canvas) clampKey(x, y int) {
	c.label(x-44, y+4, "end", "clamp =")
	c.wire(x, y-48, x, y-38)
	c.wire(x-16, y+38, x-16, y-38, x+16, y-38, x+16, y+38, x-16, y+38)
	c.wire(x, y+38, x, y+48)
	c.ground(x, y+48)
	for i := range 2 {
		c.diode(x-16, y-16+32*i, 1)
		c.diode(x+16, y-16+32*i, -1)
	}
}

// amplifier has its inputs 20 above (inverting) and below y, its output at x.
func (c *canvas) amplifier(x, y int) {
	c.elem(`<path d="M%d,%d v84 l70,-42 z" class="box"/>`, x-70, y-42)
	c.label(x-60, y-15, "start", "−")
	c.label(x-60, y+26, "start", "+")
}
