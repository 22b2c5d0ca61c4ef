package tell

import (
	"io"
	"math"
	"math/cmplx"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/plot"
	"example.org/wheatear/cmd/wheatear/internal/render/typeset"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/lockin/circuit"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/uncertain"
)

// fitCharts are readings and circuit over frequency, and in the complex plane; nothing
// where there is no circuit to draw.
func fitCharts(s *result.Swept, c *result.Circuit, title block.Text) []block.Block {
	r, err := c.Result()
	if err != nil || len(r.Residuals) < 2 {
		return nil
	}
	var set typeset.Setter
	f := &fitted{swept: s, fit: r, title: set.Text(title), note: set.Text(sweptBasis(s).Short)}
	return []block.Block{
		drawing("Impedance, phase and residuals over frequency, with 95\u00a0% intervals.", f.overFrequency()),
		drawing("Readings and circuit in the complex plane.", f.plane()),
	}
}

// drawing is a chart as a block.
func drawing(shows string, c *plot.Chart) block.Chart {
	return block.Chart{Shows: shows, Draw: func(w io.Writer, format plot.Format) error { return plot.DrawChart(w, c, format) }}
}

// fitted is a circuit beside the readings that it was fitted to.
type fitted struct {
	swept       *result.Swept
	fit         *circuit.Result
	title, note string
}

// points of a sweep as they are drawn: of a file no uncertainty is known.
func (f *fitted) points(pick func(r impedance.Reading) uncertain.Quantity, plain func(z complex128) float64) plot.Series {
	out := plot.Series{Name: "reading with its 95 % interval", Style: plot.Dots}
	if f.swept.Touchstone != nil {
		out.Name = "reading"
		for _, e := range f.fit.Residuals {
			out.X = append(out.X, e.FreqHz)
			out.Y = append(out.Y, plot.Exactly([]float64{plain(e.Model + e.Z)})...)
		}
		return out
	}
	for i := range f.swept.Readings {
		r := &f.swept.Readings[i]
		if z := r.Reading(); r.Trusted && z.State == impedance.OK {
			out.X, out.Y = append(out.X, z.FreqHz.Value), append(out.Y, pick(z))
		}
	}
	return out
}

// overFrequency are |Z|, phase and residuals.
func (f *fitted) overFrequency() *plot.Chart {
	const drawn = 240 // points of a curve
	low, high := ends(f.freqsHz())
	size := plot.Series{Name: "fit", Style: plot.Line}
	angle := size
	for i := range drawn {
		hz := low * math.Pow(high/low, float64(i)/(drawn-1))
		m, p := f.fit.Predict(hz)
		size.X, size.Y = append(size.X, hz), append(size.Y, m)
		angle.X, angle.Y = append(angle.X, hz), append(angle.Y, degrees(p))
	}
	modulus := f.points(func(r impedance.Reading) uncertain.Quantity { return r.Modulus }, cmplx.Abs)
	phase := f.points(func(r impedance.Reading) uncertain.Quantity { return degrees(r.Phase) }, func(z complex128) float64 { return cmplx.Phase(z) * perRad })
	left := f.residuals(size, modulus)
	most := furthest(left)
	return &plot.Chart{Title: f.title + " as " + f.fit.Circuit.String(), Note: f.note, X: plot.Scale{Name: "frequency", Unit: "Hz", Log: true}, Panels: []plot.ChartPanel{
		{Y: plot.Scale{Name: "impedance |Z|", Unit: "Ω", Log: true}, Height: 5, Series: []plot.Series{banded(size), size, modulus}},
		{Y: plot.Scale{Name: "phase", Unit: "°"}, Height: 4, Series: []plot.Series{banded(angle), angle, phase}},
		{Y: plot.Scale{Name: "reading less fit, of |Z|", Unit: "%", Low: -most, High: most}, Height: 3, Series: left},
	}}
}

func (f *fitted) freqsHz() (list []float64) {
	for _, e := range f.fit.Residuals {
		list = append(list, e.FreqHz)
	}
	return list
}

const perRad = 180 / math.Pi

func degrees(q uncertain.Quantity) uncertain.Quantity {
	return uncertain.Quantity{Value: q.Value * perRad, U: q.U * perRad, Low: q.Low * perRad, High: q.High * perRad}
}

// banded is the band of a curve.
func banded(s plot.Series) plot.Series {
	s.Name, s.Style = "95 % interval of the fit", plot.Area
	return s
}

// residuals are what the fit leaves of the modulus, in per cent, about its own band.
func (f *fitted) residuals(size, modulus plot.Series) []plot.Series {
	band := plot.Series{Style: plot.Area}
	for i, q := range size.Y {
		band.X = append(band.X, size.X[i])
		band.Y = append(band.Y, uncertain.Quantity{Low: 100 * (q.Low/q.Value - 1), High: 100 * (q.High/q.Value - 1)})
	}
	dots := modulus
	dots.Y = nil
	for i, q := range modulus.Y {
		m, _ := f.fit.Predict(dots.X[i])
		of := func(v float64) float64 { return 100 * (v/m.Value - 1) }
		dots.Y = append(dots.Y, uncertain.Quantity{Value: of(q.Value), Low: of(q.Low), High: of(q.High)})
	}
	zero := plot.Series{Style: plot.Line, X: []float64{size.X[0], size.X[len(size.X)-1]}, Y: plot.Exactly([]float64{0, 0})}
	return []plot.Series{band, zero, dots}
}

// furthest is how far from zero anything of some series lies, and a little more.
func furthest(list []plot.Series) float64 {
	most := 0.0
	for _, s := range list {
		for _, q := range s.Y {
			for _, v := range []float64{q.Value, q.Low, q.High} {
				if a := math.Abs(v); !math.IsInf(a, 0) && !math.IsNaN(a) {
					most = max(most, a)
				}
			}
		}
	}
	return max(1.1*most, 1e-9)
}

// plane is the same in the complex plane.
func (f *fitted) plane() *plot.Chart {
	read := plot.Series{Name: "reading", Style: plot.Dots}
	for _, e := range f.fit.Residuals {
		z := e.Model + e.Z
		read.X, read.Y = append(read.X, real(z)), append(read.Y, plot.Exactly([]float64{imag(z)})...)
	}
	low, high := ends(f.freqsHz())
	line := plot.Series{Name: "fit " + f.fit.Circuit.String(), Style: plot.Line}
	for _, z := range traced(func(hz float64) complex128 { return f.fit.Circuit.Impedance(hz, f.fit.Values()...) }, low, high) {
		line.X, line.Y = append(line.X, real(z)), append(line.Y, plot.Exactly([]float64{imag(z)})...)
	}
	return &plot.Chart{Title: f.title, Note: f.note, X: plot.Scale{Name: "resistance", Unit: "Ω"},
		Panels: []plot.ChartPanel{{Y: plot.Scale{Name: "reactance", Unit: "Ω"}, Series: []plot.Series{line, read}, Square: true}}}
}
