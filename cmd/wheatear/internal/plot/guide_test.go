package plot

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/plot/vg"
)

func guides(panels int) *Chart {
	c := &Chart{Title: "guides", X: Scale{Name: "frequency", Unit: "Hz", Log: true, Low: 20, High: 20e3}}
	for range panels {
		p := ChartPanel{Y: Scale{Name: "|Z|", Unit: "Ω", Log: true, Low: 1e-2, High: 1e7}}
		for _, s := range []struct {
			text string
			z    func(w float64) float64
		}{
			{"10 nF", func(w float64) float64 { return 1 / (w * 10e-9) }}, {"1 H", func(w float64) float64 { return w }},
			{"10 µF", func(w float64) float64 { return 1 / (w * 10e-6) }}, {"1 mH", func(w float64) float64 { return w * 1e-3 }},
			{"1 aF", func(w float64) float64 { return 1 / (w * 1e-18) }}, // outside of the picture
		} {
			p.Series = append(p.Series, Series{Style: Guide, Text: s.text, X: []float64{20, 20e3},
				Y: Exactly([]float64{s.z(2 * math.Pi * 20), s.z(2 * math.Pi * 20e3)})})
		}
		p.Series = append(p.Series, Series{Style: Curve, Name: "the part", X: []float64{20, 20e3}, Y: Exactly([]float64{50, 5e4})})
		c.Panels = append(c.Panels, p)
	}
	return c
}

// Every guide that is seen has its text, none lies over another.
func TestGuidesAreNamedApart(t *testing.T) {
	for _, panels := range []int{1, 4, 8} {
		var b bytes.Buffer
		if err := DrawChart(&b, guides(panels), SVG); err != nil {
			t.Fatal(err)
		}
		at := textsOf(t, b.Bytes())
		for _, text := range []string{"10 nF", "1 H", "10 µF", "1 mH"} {
			if len(at[text]) != panels {
				t.Errorf("%d panels: %q is written %d times", panels, text, len(at[text]))
			}
			for other, places := range at {
				for _, o := range places {
					for _, p := range at[text] {
						if other != text && math.Abs(p[0]-o[0]) < 12 && math.Abs(p[1]-o[1]) < 6 { // half of the smallest box
							t.Errorf("%d panels: %q at %v lies over %q at %v", panels, text, p, other, o)
						}
					}
				}
			}
		}
		if len(at["1 aF"]) != 0 {
			t.Error("a guide outside of the picture is named")
		}
	}
}

// textsOf finds where texts stand in an SVG.
func textsOf(t *testing.T, svg []byte) map[string][][2]float64 {
	t.Helper()
	out := map[string][][2]float64{}
	d := xml.NewDecoder(bytes.NewReader(svg))
	var x, y float64
	in := false
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return out
		}
		if err != nil {
			t.Fatal(err)
		}
		switch e := token.(type) {
		case xml.StartElement:
			in = e.Name.Local == "text"
			for _, a := range e.Attr {
				switch v, _ := strconv.ParseFloat(a.Value, 64); a.Name.Local {
				case "x":
					x = v
				case "y":
					y = v
				}
			}
		case xml.CharData:
			if in {
				text := strings.TrimSpace(string(e))
				out[text] = append(out[text], [2]float64{x, y})
			}
		case xml.EndElement:
			in = false
		}
	}
}

func TestPasses(t *testing.T) {
	box := vg.Rectangle{Min: vg.Point{X: 10, Y: 10}, Max: vg.Point{X: 20, Y: 14}}
	for _, c := range []struct {
		from, to vg.Point
		want     bool
	}{
		{vg.Point{X: 0, Y: 12}, vg.Point{X: 100, Y: 12}, true},
		{vg.Point{X: 0, Y: 20}, vg.Point{X: 100, Y: 20}, false},
		{vg.Point{X: 15, Y: 0}, vg.Point{X: 15, Y: 100}, true},
		{vg.Point{X: 0, Y: 0}, vg.Point{X: 9, Y: 9}, false},
	} {
		if got := passes(c.from, c.to, box); got != c.want {
			t.Errorf("%v to %v: %v", c.from, c.to, got)
		}
	}
}

func TestManyDecadesHaveNoMinorTicks(t *testing.T) {
	a := axis{1e-2, 1e7, true}
	for _, k := range legible(a, a.ticks("Ω")) {
		if e := math.Log10(k.value); math.Abs(e-math.Round(e)) > 1e-9 {
			t.Errorf("a tick at %g", k.value)
		}
	}
	few := axis{1, 1e3, true}
	if got, all := legible(few, few.ticks("Ω")), few.ticks("Ω"); len(got) != len(all) {
		t.Errorf("%d of %d ticks are left", len(got), len(all))
	}
}
