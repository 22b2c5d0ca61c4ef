package plot

import (
	"bytes"
	"errors"
	"math"
	"testing"

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
