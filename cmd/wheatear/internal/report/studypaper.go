package report

import (
	"bytes"
	"example.org/wheatear/cmd/wheatear/internal/block"
	"io"
	"slices"
	"strconv"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/paper"
	"example.org/wheatear/cmd/wheatear/internal/plot"
	"example.org/wheatear/cmd/wheatear/internal/render/view"
	"example.org/wheatear/cmd/wheatear/internal/tell"
	"example.org/wheatear/lockin/uncertain"
)

// drawn is a chart as a section; nothing where there is nothing to draw.
func drawn(heading string, c *plot.Chart, shows string) []paper.Section {
	var svg bytes.Buffer
	if err := plot.DrawChart(&svg, c, plot.SVG); err != nil {
		return nil
	}
	return []paper.Section{{Heading: heading, Drawing: paper.Drawing{SVG: svg.Bytes(), Shows: shows}}}
}

// plainTable is a table of names and what belongs to them.
func plainTable(rows [][]string) *paper.Table {
	return &paper.Table{Head: []string{"", ""}, Rows: rows}
}

// headed is a table whose first row are the heads.
func headed(rows [][]string) *paper.Table { return &paper.Table{Head: rows[0], Rows: rows[1:]} }

// readingsSection are readings over frequency.
func (m *Measurement) readingsSection() []paper.Section {
	if len(m.Readings) == 0 {
		return nil
	}
	t := &paper.Table{}
	for _, s := range view.Sections([]block.Block{tell.Readings(m.Document().Readings)}) {
		t.Head, t.Rows = s.Head, s.Rows
	}
	return []paper.Section{{Heading: "Readings", Table: t, Text: []string{intervalsNote}}}
}

// basis are the readings of a sweep with their conditions; of a file nothing is known.
func (s *Swept) basis() []paper.Section {
	if s.File != "" {
		return nil
	}
	return append(s.readingsSection(), s.conditions()...)
}

// publish writes a report, in which lines break as there is room.
func publish(w io.Writer, r *paper.Report) error {
	each := func(list []string) {
		for i := range list {
			list[i] = loose(list[i])
		}
	}
	r.Title, r.Verdict = loose(r.Title), loose(r.Verdict)
	each(r.About)
	for _, s := range r.Sections {
		each(s.Text)
		if s.Table == nil {
			continue
		}
		for _, row := range s.Table.Rows {
			each(row)
		}
	}
	return paper.Write(w, r)
}

// FittedPaper writes it as a report that stands alone.
func FittedPaper(w io.Writer, f *Fitted, now time.Time) error {
	best := f.Best()
	r := &paper.Report{Title: f.title() + ", a circuit fitted", About: []string{f.note()}, Verdict: notation(best), Made: made(now)}
	values := paper.Section{Heading: "Values", Table: plainTable(nil), Text: []string{intervalsNote}}
	for _, p := range best.Parameters {
		values.Table.Rows = append(values.Table.Rows, []string{p.Name, parameter(p)})
	}
	if f.Allowance > 0 {
		values.Text = append(values.Text, "No circuit agrees with the sweep within the uncertainty of the readings: each point is allowed "+percentOf(f.Allowance)+" of |Z| for what a circuit lacks.")
	}
	agrees := paper.Section{Heading: "How well it holds", Text: []string{upper(residuals(best)), f.verdict()}}
	for _, n := range best.Notes {
		agrees.Text = append(agrees.Text, upper(n.Detail)+": "+n.Advice+".")
	}
	r.Sections = append(r.Sections, values, agrees)
	r.Sections = append(r.Sections, drawn("", f.Chart(), "Impedance, phase and what the readings are off the fit, with 95 % intervals.")...)
	if len(f.Choice.Fits) > 1 {
		r.Sections = append(r.Sections, paper.Section{Heading: "Circuits that were tried", Text: []string{upper(f.Choice.Words) + "."}, Table: headed(f.ranking())})
	}
	r.Sections = append(r.Sections, drawn("", f.Plane(), "Readings and fit in the plane of complex numbers.")...)
	r.Sections = append(r.Sections, f.basis()...)
	return publish(w, r)
}

// IdentifiedPaper writes it as a report that stands alone.
func IdentifiedPaper(w io.Writer, i *Identified, now time.Time) error {
	r := &paper.Report{Title: i.title() + ": what it is", About: []string{i.note()}, Verdict: i.headline(), Made: made(now)}
	if rows := i.rows(); len(rows) > 0 {
		r.Sections = append(r.Sections, paper.Section{Heading: "Figures", Table: plainTable(rows), Text: []string{intervalsNote}})
	}
	r.Sections = append(r.Sections, paper.Section{Heading: "Why", Text: slices.Clone(i.Reasons)})
	if i.Choice != nil {
		r.Sections = append(r.Sections, drawn("", i.Chart(), "Impedance, phase and what the readings are off the circuit, with 95 % intervals.")...)
		r.Sections = append(r.Sections, drawn("", i.Plane(), "Readings and circuit in the plane of complex numbers.")...)
	}
	r.Sections = append(r.Sections, i.basis()...)
	return publish(w, r)
}

// SpotPaper writes it as a report that stands alone.
func SpotPaper(w io.Writer, s *Spot, now time.Time) error {
	r := &paper.Report{Title: s.spotTitle(), About: []string{s.spot(), s.correction()}, Verdict: "Undetermined in circuit", Made: made(now)}
	if s.Answer != nil && s.Answer.Told {
		r.Verdict = short(s.Answer.Value, s.Unit)
	}
	r.Sections = append(r.Sections, paper.Section{Heading: "Answer", Text: []string{s.answer()}})
	if len(s.Health) > 0 {
		wear := paper.Section{Heading: "Wear", Table: &paper.Table{Head: []string{"what", "is", "outcome"}}, Text: []string{"By usual limits (common practice, from memory)."}}
		for _, h := range s.Health {
			wear.Table.Rows = append(wear.Table.Rows, []string{h.What, uncertain.Format(h.Value, h.U, h.Unit), string(h.Outcome)})
		}
		r.Sections = append(r.Sections, wear)
	}
	if s.Answer != nil && len(s.Answer.Models) > 0 {
		r.Sections = append(r.Sections, drawn("", s.Chart(), "Impedance in circuit, the likeliest network, and the part alone.")...)
		r.Sections = append(r.Sections, paper.Section{Heading: "Networks that were tried",
			Table: &paper.Table{Head: []string{"network", "weight", "chance of the readings if it is the one"}, Rows: s.networks()}})
	}
	if s.Answer != nil && s.Answer.Told {
		r.Sections = append(r.Sections, paper.Section{Heading: "What a single reading would have shown", Text: []string{s.single()}, Table: headed(s.misleading())})
	}
	r.Sections = append(r.Sections, s.readingsSection()...)
	r.Sections = append(r.Sections, s.conditions()...)
	return publish(w, r)
}

// SortedPaper writes the run as a report that stands alone.
func SortedPaper(w io.Writer, s *Sorted, now time.Time) error {
	r := &paper.Report{Title: plural(len(s.Parts), "part") + " for " + s.Text, About: []string{s.correction(), "Kept in " + s.File + "."}, Verdict: s.counts(), Made: made(now)}
	if s.Spread.N > 1 {
		r.Sections = append(r.Sections, paper.Section{Heading: "Spread", Table: plainTable(s.spread())})
		r.Sections = append(r.Sections, drawn("", s.Chart(), "How many parts have which value.")...)
	}
	if rows := s.binned(); len(rows) > 0 {
		r.Sections = append(r.Sections, paper.Section{Heading: "Bins", Table: &paper.Table{Head: []string{"bin", "parts"}, Rows: rows}})
	}
	r.Sections = append(r.Sections, paper.Section{Heading: "Parts", Table: s.partsTable(), Text: []string{"± is the standard uncertainty."}})
	r.Sections = append(r.Sections, s.conditions()...)
	return publish(w, r)
}

// partsTable are the parts, a row each.
func (s *Sorted) partsTable() *paper.Table {
	t := &paper.Table{Head: []string{"", "part", "verdict", "value", "risk", "bin"}}
	for _, p := range s.Parts {
		row := []string{strconv.Itoa(p.Number), p.Name, word(p), "—", "", p.Bin}
		if valued(uncertain.Quantity{Value: p.Value}) {
			row[3] = uncertain.Format(p.Value, p.U, s.Expected.Unit.String())
		}
		if r := orNull(p.Risk); r != nil {
			row[4] = chance(*r)
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}
