package plot

import (
	"bytes"
	"errors"
	"image/png"
	"math"
	"testing"

	"gonum.org/v1/plot/vg/draw"

	"example.org/wheatear/lockin/uncertain"
)

// within makes quantities with the same relative uncertainty.
func within(rel float64, values ...float64) []uncertain.Quantity {
	out := Exactly(values)
	for i, v := range values {
		out[i].U, out[i].Low, out[i].High = rel*math.Abs(v)/2, v-rel*math.Abs(v), v+rel*math.Abs(v)
	}
	return out
}

func charts() map[string]*Chart {
	levels := []float64{0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5}
	var plane, fit Series
	plane.Style, plane.Name, fit.Style, fit.Name = Dots, "reading with its 95 % interval", Line, "fit"
	for i := range 40 {
		a := math.Pi * float64(i) / 39
		x, y := 50+45*math.Cos(a), 45*math.Sin(a)
		plane.X, plane.Y = append(plane.X, x), append(plane.Y, within(0.02, y)...)
		fit.X, fit.Y = append(fit.X, x), append(fit.Y, Exactly([]float64{y * 1.01})...)
	}
	return map[string]*Chart{
		"levels": {
			Title: "C3 over level", Note: "kitchen-table jig, 1 kHz", X: Scale{Name: "voltage across the part, rms", Unit: "V", Log: true},
			Panels: []ChartPanel{
				{Y: Scale{Name: "capacitance", Unit: "F"}, Height: 2,
					Series: []Series{{Name: "reading with its 95 % interval", X: levels, Y: within(0.001, 1e-7, 1e-7, 0.999e-7, 0.997e-7, 0.99e-7, 0.975e-7, 0.93e-7), Style: Band},
						{Name: "carried to level zero", X: []float64{0.005, 0.5}, Y: Exactly([]float64{1e-7, 1e-7}), Style: Dashed}}},
				{Y: Scale{Name: "dissipation factor"}, Series: []Series{{Name: "reading with its 95 % interval", X: levels, Y: within(0.05, 0.02, 0.02, 0.021, 0.022, 0.025, 0.03, 0.04), Style: Band}}},
			},
		},
		"plane": {Title: "complex plane", X: Scale{Name: "resistance", Unit: "Ω"},
			Panels: []ChartPanel{{Y: Scale{Name: "reactance", Unit: "Ω"}, Series: []Series{plane, fit}, Square: true}}},
		"histogram": {Title: "run of 50", X: Scale{Name: "value", Unit: "F"},
			Panels: []ChartPanel{{Y: Scale{Name: "parts"}, Levels: []Level{{12, "twelve"}},
				Series: []Series{{Name: "parts", X: []float64{9e-8, 9.5e-8, 1e-7, 1.05e-7, 1.1e-7}, Y: Exactly([]float64{1, 9, 20, 14, 2}), Style: Bars}}}}},
	}
}

func TestChartsAreDrawn(t *testing.T) {
	for name, c := range charts() {
		for _, format := range []Format{SVG, PNG} {
			var b bytes.Buffer
			if err := DrawChart(&b, c, format); err != nil || b.Len() < 1000 {
				t.Errorf("%s.%s: %d bytes, %v", name, format, b.Len(), err)
			}
			keepPicture(t, name+"."+string(format), b.Bytes())
		}
	}
}

func TestChartsOfNothing(t *testing.T) {
	nan := math.NaN()
	for name, c := range map[string]*Chart{
		"no panels":  {},
		"no points":  {Panels: []ChartPanel{{Series: []Series{{}}}}},
		"not finite": {Panels: []ChartPanel{{Series: []Series{{Name: "", X: []float64{nan, 1}, Y: Exactly([]float64{1, nan}), Style: Line}}}}},
		"no value above zero on a logarithmic axis": {Panels: []ChartPanel{{Y: Scale{Log: true}, Series: []Series{{Name: "", X: []float64{1}, Y: Exactly([]float64{-1}), Style: Dots}}}}},
	} {
		if err := DrawChart(&bytes.Buffer{}, c, SVG); !errors.Is(err, ErrNothing) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestPicturesForPrint(t *testing.T) {
	for name, c := range charts() {
		var b bytes.Buffer
		if err := DrawChart(&b, c, PDF); err != nil || !bytes.HasPrefix(b.Bytes(), []byte("%PDF-")) || !bytes.Contains(b.Bytes(), []byte("%%EOF")) {
			t.Errorf("%s: %d bytes, %v", name, b.Len(), err)
		}
		keepPicture(t, name+".pdf", b.Bytes())
	}
}

// In grey print every style can be told from every other by its sample in the key: by
// shape, width or lightness, not by colour alone.
func TestStylesDifferInGrey(t *testing.T) {
	sample := func(s Style) []float64 {
		var b bytes.Buffer
		err := write(&b, PNG, oneHigh, func(c draw.Canvas) {
			c.SetColor(white)
			c.Fill(c.Rectangle.Path())
			Series{Style: s}.sample(&c, 20, 20)
		})
		if err != nil {
			t.Fatal(err)
		}
		img, err := png.Decode(&b)
		if err != nil {
			t.Fatal(err)
		}
		var light []float64
		low := img.Bounds().Max.Y
		for y := low - 80; y < low-10; y++ {
			for x := 30; x < 100; x++ {
				r, g, b, _ := img.At(x, y).RGBA()
				light = append(light, (0.2126*float64(r)+0.7152*float64(g)+0.0722*float64(b))/math.MaxUint16)
			}
		}
		return light
	}
	names := map[Style]string{Band: "band", Dots: "dots", Line: "line", Dashed: "dashed", Bars: "bars", Area: "area", Curve: "curve"}
	for a, nameA := range names {
		for b, nameB := range names {
			if a >= b {
				continue
			}
			x, y := sample(a), sample(b)
			apart := 0.0
			for i := range x {
				apart += math.Abs(x[i] - y[i])
			}
			if apart < 20 { // points of the picture, from white to black
				t.Errorf("%s and %s look alike: %.0f apart", nameA, nameB, apart)
			}
		}
	}
}
