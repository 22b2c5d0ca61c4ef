package report

import (
	"bytes"
	"io"
	"strconv"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/paper"
	"example.org/wheatear/cmd/wheatear/internal/plot"
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
