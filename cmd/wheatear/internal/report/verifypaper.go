package report

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"strings"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/paper"
	"example.org/wheatear/cmd/wheatear/internal/plot"
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/jigcheck"
	"example.org/wheatear/lockin/spectrum"
	"example.org/wheatear/lockin/uncertain"
)

// VerifyPaper writes it as a report with plots that stands alone.
func VerifyPaper(w io.Writer, v *Verification) error {
	r := &paper.Report{Title: v.Jig.Name + ": verification", Verdict: v.sentence(), Made: made(v.Date)}
	r.About = []string{v.Date.Format("2006-01-02 15:04"),
		fmt.Sprintf("Inputs carry %s and %s; reference %s ± %.3g %%.", v.Jig.Channels[0], v.Jig.Channels[1], rough(v.Jig.ReferenceOhm, "Ω"), 100*v.Jig.ReferenceTolerance)}
	if v.Card != "" {
		r.About = append(r.About, v.Card)
	}
	if len(v.Faults) > 0 {
		var list []finding.Finding
		for _, f := range v.Faults {
			list = append(list, f.Finding())
		}
		r.Sections = append(r.Sections, paper.Section{Heading: "Faults", Findings: list})
	}
	for _, t := range titles {
		r.Sections = append(r.Sections, v.paperSections(t.topic, t.title)...)
	}
	if v.Reach != nil {
		var svg bytes.Buffer
		if err := plot.DrawChart(&svg, v.Reach, plot.SVG); err == nil {
			r.Sections = append(r.Sections, paper.Section{Heading: "What this jig can read", Drawing: paper.Drawing{SVG: svg.Bytes(),
				Shows: "How far an impedance will be known over frequency, with the noise, contact, stray and drift found here."}})
		}
	}
	r.Sections = append(r.Sections, v.paperEnd()...)
	return paper.Write(w, r)
}

// sentence is the verdict in a few words.
func (v *Verification) sentence() string {
	if len(v.Faults) == 0 {
		return "No fault was found in what was looked at."
	}
	var codes []string
	seen := map[string]bool{}
	for _, f := range v.Faults {
		if code := string(f.Code); !seen[code] {
			seen[code] = true
			codes = append(codes, code)
		}
	}
	return plural(len(v.Faults), "fault") + ": " + strings.Join(codes, ", ")
}

// paperSections are the plot and the tables of a topic.
func (v *Verification) paperSections(topic, title string) []paper.Section {
	lines, tables := v.sort(topic)
	if len(lines)+len(tables) == 0 {
		return nil
	}
	s := paper.Section{Heading: title}
	if len(lines) > 0 {
		s.Table = &paper.Table{Head: []string{"", ""}}
		for _, f := range lines {
			s.Table.Rows = append(s.Table.Rows, []string{label(f), amount(f.Value, f.Unit) + count(f)})
		}
	}
	s.Drawing = v.drawing(topic, title)
	out := []paper.Section{s}
	if len(tables) > 0 {
		rows := v.grid(tables)
		out = append(out, paper.Section{Table: &paper.Table{Head: rows[0], Rows: rows[1:]}})
	}
	return out
}

// paperEnd says what is left open, and what the recordings said.
func (v *Verification) paperEnd() []paper.Section {
	var out []paper.Section
	open := paper.Section{Heading: "Not looked at"}
	for _, l := range v.Looked {
		if l.Recordings == 0 {
			open.Text = append(open.Text, fmt.Sprintf("%s: %s.", l.Step, l.For))
		}
	}
	if len(open.Text) > 0 {
		out = append(out, open)
	}
	if len(v.Notes) > 0 {
		out = append(out, paper.Section{Heading: "To know", Text: v.Notes})
	}
	if len(v.Findings) > 0 {
		out = append(out, paper.Section{Heading: "The recordings themselves", Findings: v.Findings})
	}
	if v.Earlier != nil {
		out = append(out, paper.Section{Heading: "Verifications before", Table: v.before()})
	}
	limits := &paper.Table{Head: []string{"what", "is a fault beyond"}}
	for _, o := range jigcheck.Ordinary() {
		limits.Rows = append(limits.Rows, []string{o.What, o.Limit})
	}
	return append(out, paper.Section{Heading: "Limits", Table: limits,
		Text: []string{"A figure is a fault where it lies beyond its limit by more than four of its standard uncertainties. What the jig file states goes first."}})
}

// before lists the verifications before this one, newest first.
func (v *Verification) before() *paper.Table {
	t := &paper.Table{Head: []string{"date", "noise, rms", "hum, rms", "contact", "drift", "faults"}}
	dbfs := func(a [2]float64) string {
		if a[0] == 0 || a[1] == 0 {
			return "—"
		}
		return fmt.Sprintf("%.1f, %.1f dBFS", spectrum.AmplitudeDB(a[0]), spectrum.AmplitudeDB(a[1]))
	}
	some := func(value float64, unit string) string {
		if value == 0 {
			return "—"
		}
		return rough(value, unit)
	}
	for _, e := range append([]jigcheck.Verified{*v.Earlier}, v.Earlier.Earlier...) {
		drift := "—"
		if e.Drift > 0 {
			drift = fmt.Sprintf("%.2g ppm", e.Drift*1e6)
		}
		t.Rows = append(t.Rows, []string{minute(e.Date), dbfs(e.NoiseRMS), dbfs(e.HumRMS), some(e.ContactOhm, "Ω"), drift, strings.Join(e.Faults, ", ")})
	}
	return t
}

// minute shortens a time; what is none stays as it is.
func minute(text string) string {
	at, err := time.Parse(time.RFC3339, text)
	if err != nil {
		return text
	}
	return at.Format("2006-01-02 15:04")
}

// drawing is the plot of a topic; empty where it has none.
func (v *Verification) drawing(topic, title string) paper.Drawing {
	chart, shows := v.chart(topic)
	var svg bytes.Buffer
	if chart == nil {
		return paper.Drawing{}
	}
	chart.Title = v.Jig.Name + ": " + strings.ToLower(title[:1]) + title[1:]
	if plot.DrawChart(&svg, chart, plot.SVG) != nil {
		return paper.Drawing{}
	}
	return paper.Drawing{SVG: svg.Bytes(), Shows: shows}
}

func (v *Verification) chart(topic string) (*plot.Chart, string) {
	hertz := plot.Scale{Name: "frequency", Unit: "Hz", Log: true}
	switch topic {
	case "silence":
		return v.silence(hertz), "Power density of silence at both inputs, by Welch's method."
	case "inputs":
		return &plot.Chart{X: hertz, Panels: panels(
			v.panel("gain of input 2 over 1, less 1, in %", "", 100, v.over("inputs", "gain 2/1 less 1", 0)),
			v.panel("crosstalk", "ppm", 1e6, v.over("inputs", "crosstalk", 1), v.over("inputs", "crosstalk", 2)))}, "Gain and crosstalk of the inputs over frequency, with 95 % intervals."
	case "open":
		return &plot.Chart{X: hertz, Panels: panels(v.panel("conductance left", "S", 1, v.over(topic, "conductance left", 0)),
			v.panel("capacitance left", "F", 1, v.over(topic, "capacitance left", 0)))}, "What an open leaves, over frequency, with 95 % intervals."
	case "short":
		return &plot.Chart{X: hertz, Panels: panels(v.panel("resistance left", "Ω", 1, v.over(topic, "resistance left", 0)),
			v.panel("inductance left", "H", 1, v.over(topic, "inductance left", 0)))}, "What a short leaves, over frequency, with 95 % intervals."
	case "levels":
		return v.overLevel(), "Gain over the level that is played, against the quietest."
	case "drift":
		return v.allan(), "Allan deviation of the ratio of the inputs over averaging time, with 95 % intervals."
	}
	return nil, ""
}

// panels drops those without a series.
func panels(list ...plot.ChartPanel) []plot.ChartPanel {
	var out []plot.ChartPanel
	for _, p := range list {
		if len(p.Series) > 0 {
			out = append(out, p)
		}
	}
	return out
}

// over collects a figure over frequency; channel 0 for the one that has none.
func (v *Verification) over(topic, name string, channel int) plot.Series {
	s := plot.Series{Style: plot.Band}
	if channel > 0 {
		s.Name = fmt.Sprintf("input %d", channel)
		s.Style = []plot.Style{plot.Band, plot.Dashed}[channel-1]
	}
	for _, f := range v.Figures {
		if f.Topic == topic && f.Name == name && f.Channel == channel && f.FreqHz > 0 {
			s.X, s.Y = append(s.X, f.FreqHz), append(s.Y, f.Value)
		}
	}
	return s
}

// panel shows series on a scale; those without two points are left out.
func (v *Verification) panel(name, unit string, scale float64, series ...plot.Series) plot.ChartPanel {
	p := plot.ChartPanel{Y: plot.Scale{Name: name, Unit: unit}}
	for _, s := range series {
		if len(s.X) < 2 {
			continue
		}
		for i, q := range s.Y {
			s.Y[i] = uncertain.Quantity{Value: scale * q.Value, U: scale * q.U, Low: scale * q.Low, High: scale * q.High}
		}
		p.Series = append(p.Series, s)
	}
	return p
}

func (v *Verification) silence(hertz plot.Scale) *plot.Chart {
	panel := plot.ChartPanel{Y: plot.Scale{Name: "density, dB re full scale²/Hz", Unit: ""}}
	for ch, s := range v.Spectra {
		line := plot.Series{Name: fmt.Sprintf("input %d", ch+1), Style: []plot.Style{plot.Line, plot.Dashed}[ch%2]}
		var db []float64
		for i, d := range s.Density {
			if s.FreqHz[i] > 0 && d > 0 {
				line.X, db = append(line.X, s.FreqHz[i]), append(db, spectrum.PowerDB(d))
			}
		}
		line.Y = plot.Exactly(db)
		panel.Series = append(panel.Series, line)
	}
	return &plot.Chart{X: hertz, Panels: panels(panel)}
}

// overLevel sets the gains against that at the quietest level.
func (v *Verification) overLevel() *plot.Chart {
	panel := plot.ChartPanel{Y: plot.Scale{Name: "gain against the quietest", Unit: "dB"}}
	for ch := 1; ch <= 2; ch++ {
		s := plot.Series{Name: fmt.Sprintf("input %d", ch), Style: []plot.Style{plot.Band, plot.Dashed}[ch-1]}
		first := math.NaN()
		for _, f := range v.Figures {
			if f.Topic != "levels" || f.Channel != ch || f.Played == 0 {
				continue
			}
			if math.IsNaN(first) {
				first = f.Value.Value
			}
			q := f.Value
			s.X = append(s.X, spectrum.AmplitudeDB(f.Played))
			s.Y = append(s.Y, uncertain.Quantity{Value: q.Value - first, U: q.U, Low: q.Low - first, High: q.High - first})
		}
		if len(s.X) > 1 {
			panel.Series = append(panel.Series, s)
		}
	}
	return &plot.Chart{X: plot.Scale{Name: "played", Unit: "dBFS"}, Panels: panels(panel)}
}

func (v *Verification) allan() *plot.Chart {
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
