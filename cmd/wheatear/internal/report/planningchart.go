package report

import (
	"math"
	"math/cmplx"
	"slices"

	"example.org/wheatear/cmd/wheatear/internal/plot"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/predict"
	"example.org/wheatear/lockin/uncertain"
)

// Chart is what the jig can read over frequency and impedance, with each reference.
func (p *Planning) Chart() (*plot.Chart, error) {
	lowHz, highHz := p.span()
	part := p.Plan.Wish.Part
	c := &plot.Chart{Title: "What " + p.Jig.Name + " can read", Note: "between the lines of one kind |Z| is known to 0.1 %, 1 % or 10 % (95 %)",
		X: plot.Scale{Name: "frequency", Unit: "Hz", Log: true, Low: lowHz, High: highHz}}
	for _, ohm := range p.drawn(mostPanels) {
		panel, err := p.reach(ohm)
		if err != nil {
			return nil, err
		}
		panel.Series = append(panel.Series, constant(lowHz, highHz)...)
		if part.Value > 0 {
			panel.Series = append(panel.Series, p.locus(part, lowHz, highHz))
		}
		c.Panels = append(c.Panels, *panel)
	}
	return c, nil
}

// mostPanels is how many references a picture has room for.
const mostPanels = 4

// drawn are the references that serve the part best, lowest first.
func (p *Planning) drawn(most int) []float64 {
	var out []float64
	for _, c := range p.Plan.Choices {
		if len(out) < most && !slices.Contains(out, c.ReferenceOhm) {
			out = append(out, c.ReferenceOhm)
		}
	}
	if len(p.Plan.Choices) == 0 {
		out = append(out, p.Jig.ReferenceOhm)
	}
	slices.Sort(out)
	return out
}

// span are the ends of the axis of frequency.
func (p *Planning) span() (lowHz, highHz float64) {
	return 20, math.Min(20e3, 0.4*p.Setup.Card.RateHz)
}

const leastOhm, mostOhm = 1e-2, 1e7 // ends of the axis of |Z|

// mapOf is what can be read with a reference; it is predicted once.
func (p *Planning) mapOf(ohm float64) (*predict.Map, error) {
	if m := p.maps[ohm]; m != nil {
		return m, nil
	}
	const points = 11
	lowHz, highHz := p.span()
	m, err := p.Setup.With(ohm).NewMap(lowHz, highHz, points, leastOhm, mostOhm, 2*points+1)
	if err != nil {
		return nil, err
	}
	if p.maps == nil {
		p.maps = map[float64]*predict.Map{}
	}
	p.maps[ohm] = m
	return m, nil
}

// reach is the panel of one reference.
func (p *Planning) reach(ohm float64) (*plot.ChartPanel, error) {
	m, err := p.mapOf(ohm)
	if err != nil {
		return nil, err
	}
	panel := &plot.ChartPanel{Y: plot.Scale{Name: "|Z|, reference " + uncertain.Format(ohm, 0, "Ω"), Unit: "Ω", Log: true, Low: leastOhm, High: mostOhm}}
	for _, r := range []struct {
		name  string
		half  float64
		style plot.Style
	}{{"10 %", 0.1, plot.Area}, {"1 %", 0.01, plot.Line}, {"0.1 %", 0.001, plot.Dashed}} {
		from, to := m.Reach(r.half)
		if r.style == plot.Area {
			s := plot.Series{Name: "within " + r.name, X: m.FreqsHz, Style: plot.Area}
			for i := range from {
				s.Y = append(s.Y, uncertain.Quantity{Value: math.Sqrt(from[i] * to[i]), Low: from[i], High: to[i]})
			}
			panel.Series = append(panel.Series, s)
			continue
		}
		panel.Series = append(panel.Series,
			plot.Series{Name: "within " + r.name, X: m.FreqsHz, Y: plot.Exactly(from), Style: r.style},
			plot.Series{X: m.FreqsHz, Y: plot.Exactly(to), Style: r.style})
	}
	return panel, nil
}

// constant are lines of constant capacitance and inductance, a factor of a thousand
// apart.
func constant(lowHz, highHz float64) []plot.Series {
	var out []plot.Series
	add := func(text string, z func(w float64) float64) {
		s := plot.Series{Style: plot.Guide, Name: ""}
		s.Text = text
		for _, hz := range []float64{lowHz, highHz} {
			s.X = append(s.X, hz)
			s.Y = append(s.Y, plot.Exactly([]float64{z(2 * math.Pi * hz)})...)
		}
		out = append(out, s)
	}
	for _, farad := range []float64{10e-12, 10e-9, 10e-6, 10e-3} {
		add(uncertain.Format(farad, 0, "F"), func(w float64) float64 { return 1 / (w * farad) })
	}
	for _, henry := range []float64{1e-6, 1e-3, 1} {
		add(uncertain.Format(henry, 0, "H"), func(w float64) float64 { return w * henry })
	}
	return out
}

// locus is the part over frequency.
func (p *Planning) locus(part predict.Part, lowHz, highHz float64) plot.Series {
	s := plot.Series{Name: "the part", Style: plot.Curve}
	for i := range 90 {
		hz := lowHz * math.Pow(highHz/lowHz, float64(i)/89)
		s.X = append(s.X, hz)
		s.Y = append(s.Y, plot.Exactly([]float64{cmplx.Abs(part.Impedance(hz))})...)
	}
	return s
}

// Reach is the same of a jig without a part, with its own reference.
func Reach(jig *fixture.Jig, setup *predict.Setup) (*plot.Chart, error) {
	p := &Planning{Jig: jig, Setup: setup, Plan: &predict.Plan{}}
	return p.Chart()
}
