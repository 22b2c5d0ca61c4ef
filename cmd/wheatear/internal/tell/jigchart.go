package tell

import (
	"io"
	"math"
	"strings"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/plot"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/lockin/jigcheck"
	"example.org/wheatear/lockin/spectrum"
	"example.org/wheatear/lockin/uncertain"
)

// jigChart is the drawing of a topic; nil where it has none.
func jigChart(v *result.Verification, topic, title string) *block.Chart {
	c, shows := chartOf(v, topic)
	if c == nil || len(c.Panels) == 0 {
		return nil
	}
	c.Title = v.Jig + ": " + strings.ToLower(title[:1]) + title[1:]
	return drawn(c, shows)
}

func drawn(c *plot.Chart, shows string) *block.Chart {
	return &block.Chart{Shows: shows, Draw: func(w io.Writer, format plot.Format) error { return plot.DrawChart(w, c, format) }}
}

func chartOf(v *result.Verification, topic string) (*plot.Chart, string) {
	over := func(list ...plot.ChartPanel) *plot.Chart {
		return &plot.Chart{X: plot.Scale{Name: "frequency", Unit: "Hz", Log: true}, Panels: filled(list...)}
	}
	switch topic {
	case "inputs":
		return over(panel("gain mismatch, input 2 re input 1, in %", "", 100, series(v, topic, "gain 2/1 less 1", 0)),
			panel("crosstalk", "ppm", 1e6, series(v, topic, "crosstalk", 1), series(v, topic, "crosstalk", 2))), "Gain mismatch and crosstalk over frequency, with 95\u00a0% intervals."
	case "open":
		return over(panel("conductance", "S", 1, series(v, topic, "conductance left", 0)), panel("capacitance", "F", 1, series(v, topic, "capacitance left", 0))),
			"Residual of the open over frequency, with 95\u00a0% intervals."
	case "short":
		return over(panel("resistance", "Ω", 1, series(v, topic, "resistance left", 0)), panel("inductance", "H", 1, series(v, topic, "inductance left", 0))),
			"Residual of the short over frequency, with 95\u00a0% intervals."
	case "levels":
		return gains(v), "Gain over the level that is played, re the quietest."
	case "drift":
		return allan(v), "Allan deviation of the ratio of the inputs over averaging time, with 95\u00a0% intervals."
	}
	return nil, ""
}

// filled drops the panels without a series.
func filled(list ...plot.ChartPanel) (out []plot.ChartPanel) {
	for _, p := range list {
		if len(p.Series) > 0 {
			out = append(out, p)
		}
	}
	return out
}

// series collects a figure over frequency; input 0 for one that has none.
func series(v *result.Verification, topic, name string, input int) plot.Series {
	s := styled(input)
	for _, f := range v.Figures {
		if f.Topic == topic && f.Name == name && channel(f) == input && f.FreqHz != nil {
			s.X, s.Y = append(s.X, *f.FreqHz), append(s.Y, f.Quantity())
		}
	}
	return s
}

func channel(f result.JigFigure) int {
	if f.Channel == nil {
		return 0
	}
	return *f.Channel
}

// styled is an empty series of an input.
func styled(input int) plot.Series {
	return []plot.Series{{Style: plot.Band}, {Name: "input 1", Style: plot.Band}, {Name: "input 2", Style: plot.Dashed}}[input]
}

// panel shows series on a scale; those without two points are left out.
func panel(name, unit string, scale float64, list ...plot.Series) plot.ChartPanel {
	p := plot.ChartPanel{Y: plot.Scale{Name: name, Unit: unit}}
	for _, s := range list {
		if len(s.X) < 2 {
			continue
		}
		for i, q := range s.Y {
			s.Y[i] = times(q, scale)
		}
		p.Series = append(p.Series, s)
	}
	return p
}

// gains are over level, re that at the quietest.
func gains(v *result.Verification) *plot.Chart {
	p := plot.ChartPanel{Y: plot.Scale{Name: "gain re the quietest", Unit: "dB"}}
	for input := 1; input <= 2; input++ {
		s := styled(input)
		quietest := math.NaN()
		for _, f := range v.Figures {
			if f.Topic != "levels" || channel(f) != input || f.Played == nil {
				continue
			}
			q := f.Quantity()
			if math.IsNaN(quietest) {
				quietest = q.Value
			}
			s.X = append(s.X, *f.Played)
			s.Y = append(s.Y, uncertain.Quantity{Value: q.Value - quietest, U: q.U, Low: q.Low - quietest, High: q.High - quietest})
		}
		if len(s.X) > 1 {
			p.Series = append(p.Series, s)
		}
	}
	return &plot.Chart{X: plot.Scale{Name: "played", Unit: "dBFS"}, Panels: filled(p)}
}

func allan(v *result.Verification) *plot.Chart {
	s := plot.Series{Style: plot.Band}
	for _, a := range v.Allan {
		s.X = append(s.X, a.TauS)
		s.Y = append(s.Y, uncertain.Quantity{Value: 1e6 * a.Deviation, U: 1e6 * (a.High - a.Low) / 4, Low: 1e6 * a.Low, High: 1e6 * a.High})
	}
	if len(s.X) < 2 {
		return nil
	}
	return &plot.Chart{X: plot.Scale{Name: "averaging time", Unit: "s", Log: true},
		Panels: []plot.ChartPanel{{Y: plot.Scale{Name: "Allan deviation", Unit: "ppm", Log: true}, Series: []plot.Series{s}}}}
}

// IdleNoise draws the spectra of both inputs without a signal.
func IdleNoise(jig string, list []jigcheck.Spectrum) block.Chart {
	p := plot.ChartPanel{Y: plot.Scale{Name: "density, dB re full scale²/Hz"}}
	for i, s := range list {
		line := styled(1 + i%2)
		if line.Style == plot.Band {
			line.Style = plot.Line
		}
		var db []float64
		for k, d := range s.Density {
			if s.FreqHz[k] > 0 && d > 0 {
				line.X, db = append(line.X, s.FreqHz[k]), append(db, spectrum.PowerDB(d))
			}
		}
		if line.Y = plot.Exactly(db); len(db) > 0 {
			p.Series = append(p.Series, line)
		}
	}
	c := &plot.Chart{Title: jig + ": idle noise", X: plot.Scale{Name: "frequency", Unit: "Hz", Log: true}, Panels: filled(p)}
	return *drawn(c, "Power density of idle noise at both inputs, by Welch's method.")
}
