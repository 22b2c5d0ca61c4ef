package tell

import (
	"io"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/plot"
	"example.org/wheatear/cmd/wheatear/internal/render/typeset"
	"example.org/wheatear/cmd/wheatear/internal/result"
)

// Sweep tells readings over frequency.
func Sweep(s *result.Sweep) []block.Block {
	out := []block.Block{block.Headline{Title: Points(s)}}
	if len(s.Readings) > 0 {
		out = append(out, readings(s.Readings, s.Element()))
		out = append(out, esr(s.Readings)...)
	}
	f := figure(s)
	out = append(out, block.Chart{Shows: "Impedance, phase and element over frequency, with 95\u00a0% intervals.",
		Draw: func(w io.Writer, format plot.Format) error { return plot.Draw(w, f, format) }})
	return append(out, Findings(s.Findings), provenance(s.Jig, s.Calibration, s.RestsOn))
}

// SweepFitted tells readings over frequency with the circuit that was fitted to them.
func SweepFitted(s *result.Sweep, f *result.Fit) []block.Block {
	if len(f.Circuits) == 0 {
		return Sweep(s)
	}
	best := &f.Circuits[0]
	var out []block.Block
	for _, b := range Sweep(s) {
		if _, ok := b.(block.Chart); !ok {
			out = append(out, b)
			continue
		}
		if charts := fitCharts(&f.Swept, best, name(s)); len(charts) > 0 {
			b = charts[0]
		}
		out = append(append(out, b), circuitBlocks(best)...)
		out = append(out, block.Paragraphs{Text: []block.Text{capital(f.Words), sound(f)}})
	}
	return out
}

// Points says how many there are, from where to where, and how they were made.
func Points(s *result.Sweep) block.Text {
	n := len(s.Readings)
	text := block.Say("%v: %v", name(s), block.Count(n, "point"))
	if n < s.Asked {
		text = block.Say("%v: %v of %v", name(s), n, block.Count(s.Asked, "point"))
	}
	if n > 0 {
		text = block.Say("%v from %v to %v", text, block.PlaceHz(s.Readings[0].NominalHz), block.PlaceHz(s.Readings[n-1].NominalHz))
	}
	if s.Together {
		text = block.Say("%v, all tones at once", text)
	}
	if s.SignalS != nil {
		text = block.Say("%v, %v of recording", text, block.Number(*s.SignalS, "s", 3))
	}
	return text
}

// name is what was swept.
func name(s *result.Sweep) block.Text {
	if s.Part != nil {
		return block.Say("%v", *s.Part)
	}
	return source(s.RestsOn)
}

// figure is the sweep as it is drawn.
func figure(s *result.Sweep) *plot.Figure {
	var set typeset.Setter
	f := &plot.Figure{Title: set.Text(name(s)), Note: set.Text(provenance(s.Jig, s.Calibration, s.RestsOn).Short), Element: s.Element()}
	for _, r := range s.Readings {
		f.Points = append(f.Points, plot.Point{FreqHz: r.NominalHz, Reading: r.Reading(), Trusted: r.Trusted})
	}
	return f
}

// Plane is the sweep as a complex-plane plot.
func Plane(s *result.Sweep) block.Chart {
	line := plot.Series{Name: "reading, by rising frequency", Style: plot.Band}
	f := figure(s)
	for _, p := range f.Points {
		if p.Trusted {
			line.X, line.Y = append(line.X, p.Reading.Re.Value), append(line.Y, p.Reading.Im)
		}
	}
	c := &plot.Chart{Title: f.Title, Note: f.Note, X: plot.Scale{Name: "resistance", Unit: "Ω"},
		Panels: []plot.ChartPanel{{Y: plot.Scale{Name: "reactance", Unit: "Ω"}, Series: []plot.Series{line}, Square: true}}}
	return block.Chart{Shows: "Reactance over resistance.", Draw: func(w io.Writer, format plot.Format) error { return plot.DrawChart(w, c, format) }}
}
