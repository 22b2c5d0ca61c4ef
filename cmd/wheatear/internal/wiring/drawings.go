package wiring

import (
	"fmt"
	"html"
	"io"
	"strings"
)

// reminder stands above each drawing; the text has the cautions in full.
var reminder = []string{
	"First: discharge capacitors. Power off and unplugged in circuit. Nothing on the mains. Begin at a",
	"low level. Line inputs only: the supply of a microphone input must be off. Cautions in full and",
	"values of Rs, Ri and clamp: wheatear help wiring.",
}

// SVG draws the wiring.
func (w Wiring) SVG(out io.Writer) error {
	var c canvas
	c.elem(`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %d %d" width="%d" height="%d">`,
		canvasWidth, canvasHeight, canvasWidth, canvasHeight)
	c.elem("<title>%s</title>", html.EscapeString(w.Title))
	c.elem(`<style>text{font:15px sans-serif;fill:#000} .head{font-size:20px;font-weight:bold} .small{font-size:13px}` +
		` .code{font-family:monospace} .line{fill:none;stroke:#000;stroke-width:2}` +
		` .box{fill:#fff;stroke:#000;stroke-width:2} .grey{fill:#ccc;stroke:#000;stroke-width:2}</style>`)
	c.elem(`<rect width="%d" height="%d" fill="#fff"/>`, canvasWidth, canvasHeight)
	c.text(20, 32, "start", "head", w.Title)
	c.text(canvasWidth-20, 32, "end", "code", fmt.Sprintf("channels = [%q, %q]", w.First, w.Second))
	for i, line := range reminder {
		c.text(20, 58+20*i, "start", "", line)
	}
	w.draw(&c)
	c.elem("</svg>")
	_, err := io.Copy(out, strings.NewReader(c.String()))
	return err
}

// Where the nodes are.
const (
	spine  = 290 // x of part and reference
	topY   = 160
	midY   = 300
	railY  = 490
	keyX   = 750
	keyY   = 410
	lowerY = 395 // middle of what lies below the middle node
)

func drawPartToGround(c *canvas) {
	frame(c)
	c.down(spine, 230, "reference", "box")
	c.part(spine, lowerY)
	c.input(spine, topY, "input 1: total")
	c.input(spine, midY, "input 2: part")
}

func drawReferenceToGround(c *canvas) {
	frame(c)
	c.part(spine, 230)
	c.down(spine, lowerY, "reference", "box")
	c.input(spine, topY, "input 1: total")
	c.input(spine, midY, "input 2: reference")
}

// frame is source, spine and ground of a wiring with two elements in series.
func frame(c *canvas) {
	c.output(spine, topY)
	c.wire(spine, topY, spine, railY)
	c.node(spine, topY)
	c.node(spine, midY)
	c.groundRail(spine, railY)
	c.clampKey(keyX, keyY)
}

func drawDifferential(c *canvas) {
	c.output(spine, topY-20)
	c.wire(spine, topY-20, spine, railY+20)
	c.part(spine, 220)
	c.down(spine, 400, "reference", "box")
	for i, y := range []int{170, 270, 340, 440} {
		c.node(spine, y)
		c.input(spine, y, []string{"input 1 +: part", "input 1 −", "input 2 +: reference", "input 2 −"}[i])
	}
	c.terminal(spine, 170)
	c.terminal(spine, 270)
	c.groundRail(spine, railY+20)
	c.clampKey(160, 330)
}

func drawVirtualGround(c *canvas) {
	c.output(spine, topY)
	c.node(spine, topY)
	c.wire(spine, topY, spine, 340, 330, 340)
	c.part(spine, 230)
	c.input(spine, topY, "input 1: part")
	c.node(spine, 300)
	c.wire(spine, 300, 416, 300, 416, 360)
	c.across(353, 300, "reference")
	c.wire(330, 380, 310, 380, 310, railY)
	c.wire(400, 360, 416, 360)
	c.amplifier(400, 360)
	c.input(416, 360, "input 2: −reference")
	c.node(416, 360)
	c.groundRail(310, railY)
	c.clampKey(160, 330)
}
