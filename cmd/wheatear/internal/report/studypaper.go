package report

import (
	"bytes"
	"io"

	"example.org/wheatear/cmd/wheatear/internal/paper"
	"example.org/wheatear/cmd/wheatear/internal/plot"
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
