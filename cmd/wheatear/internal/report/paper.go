package report

import (
	"bytes"
	"fmt"
	"io"
	"strings"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/paper"
	"example.org/wheatear/cmd/wheatear/internal/plot"
)

// MeasurementPaper writes readings as a report with all that they rest on.
func MeasurementPaper(w io.Writer, m *Measurement, now time.Time) error {
	title := m.source()
	if len(m.Readings) == 1 {
		title += " at " + nominal(m.Readings[0].NominalHz)
	}
	r := &paper.Report{Title: title, About: []string{m.correction()}, Made: made(now)}
	for _, reading := range m.Readings {
		r.Sections = append(r.Sections, m.readingSections(reading, len(m.Readings) > 1)...)
	}
	r.Sections = append(r.Sections, m.conditions()...)
	return paper.Write(w, r)
}

// SweepPaper writes a sweep as a report.
func SweepPaper(w io.Writer, s *Sweep, now time.Time) error {
	title := s.Part
	if title == "" {
		title = s.source()
	}
	r := &paper.Report{Title: title, About: []string{s.about(), s.correction()}, Made: made(now)}
	var svg bytes.Buffer
	if err := plot.Draw(&svg, s.Figure(), plot.SVG); err == nil {
		r.Sections = append(r.Sections, paper.Section{Drawing: paper.Drawing{SVG: svg.Bytes(),
			Shows: "Impedance, phase and element over frequency, with 95 % intervals."}})
	}
	table := &paper.Table{Head: []string{"frequency", "reads as", "phase", "|Z|"}}
	for _, reading := range s.Readings {
		table.Rows = append(table.Rows, reading.sweepRow())
	}
	r.Sections = append(r.Sections, paper.Section{Heading: "Readings", Table: table, Text: []string{intervalsNote}})
	r.Sections = append(r.Sections, s.conditions()...)
	return paper.Write(w, r)
}

const intervalsNote = "± is half of the 95 % interval; (a to b) are its ends."

func made(now time.Time) string {
	return "Written by wheatear, " + now.Format("2006-01-02 15:04") + "."
}

// readingSections are one reading: its figures, its budget, its phasor.
func (m *Measurement) readingSections(r *Reading, named bool) []paper.Section {
	sheet := m.Sheet(r)
	first := paper.Section{Heading: "Reading"}
	if named {
		first.Heading += " at " + nominal(r.NominalHz)
	}
	if !r.Trusted {
		first.Text = []string{"Refused: " + sheet.Refused + "."}
		return []paper.Section{first}
	}
	value := sheet.Headline.Value
	if sheet.Headline.Half != "" {
		value += " ± " + sheet.Headline.Half
	}
	first.Table = &paper.Table{Head: []string{"", ""}, Rows: [][]string{{sheet.Headline.Name, value}}}
	for _, e := range []struct {
		name string
		list []Element
	}{{"in series", sheet.Series}, {"in parallel", sheet.Parallel}} {
		text := ""
		for i, x := range e.list {
			if i > 0 {
				text += ", "
			}
			text += x.Letter + " " + x.Text
		}
		first.Table.Rows = append(first.Table.Rows, []string{e.name, text})
	}
	for _, line := range sheet.Lines {
		first.Table.Rows = append(first.Table.Rows, []string{line.Name, line.Text})
	}
	first.Text = []string{intervalsNote}
	out := []paper.Section{first}
	if len(sheet.Budget) > 0 {
		table := &paper.Table{Head: []string{"source", "share", "what it is"}}
		for _, b := range sheet.Budget {
			table.Rows = append(table.Rows, []string{b.Source, strings.ReplaceAll(b.Text, " ", "\u00a0"), b.Why})
		}
		out = append(out, paper.Section{Heading: "What the uncertainty is made of", Table: table})
	}
	var svg bytes.Buffer
	if err := plot.DrawPhasor(&svg, m.Phasor(r), plot.SVG); err == nil {
		out = append(out, paper.Section{Drawing: paper.Drawing{SVG: svg.Bytes(), Shows: "The impedance as an arrow, with resistance and reactance as its legs."}})
	}
	return out
}

// conditions are findings, jig, calibration and recordings.
func (m *Measurement) conditions() []paper.Section {
	var out []paper.Section
	if len(m.Findings) > 0 {
		out = append(out, paper.Section{Heading: "Findings", Findings: m.Findings})
	}
	jig := paper.Section{Heading: "Jig", Table: &paper.Table{Head: []string{"", ""}, Rows: [][]string{
		{"name", m.Jig.Name},
		{"inputs carry", m.Jig.Channels[0].String() + ", " + m.Jig.Channels[1].String()},
		{"reference", fmt.Sprintf("%s ± %.3g %%", rough(m.Jig.ReferenceOhm, "Ω"), 100*m.Jig.ReferenceTolerance)},
	}}}
	out = append(out, jig)
	if m.Cal != nil {
		cal := paper.Section{Heading: "Calibration", Table: &paper.Table{Head: []string{"", ""}, Rows: [][]string{
			{"file", m.Calibration}, {"date", m.Cal.About.Date.Format("2006-01-02 15:04")}, {"card", m.Cal.About.Card},
			{"frequencies", fmt.Sprint(len(m.Cal.Points))}, {"standards", m.usedStandards()},
		}}}
		out = append(out, cal)
	}
	if len(m.Files) > 0 {
		out = append(out, paper.Section{Heading: "Recordings", Lines: m.Files})
	}
	return out
}

// usedStandards are the standards of the calibration, each once.
func (m *Measurement) usedStandards() string {
	text, seen := "", map[string]bool{}
	for _, u := range m.Cal.Used {
		if !seen[u.Standard] {
			if text != "" {
				text += ", "
			}
			text += u.Standard
			seen[u.Standard] = true
		}
	}
	return text
}
