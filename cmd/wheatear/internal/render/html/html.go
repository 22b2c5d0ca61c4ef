// Package html sets blocks as a report: one file that loads nothing from elsewhere, reads
// on a screen and prints on A4 and Letter.
package html

import (
	"bytes"
	"cmp"
	"io"
	"strconv"
	"strings"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/plot"
	"example.org/wheatear/cmd/wheatear/internal/render/typeset"
	"example.org/wheatear/lockin/finding"
)

// Write sets blocks as a report that was made at a time.
func Write(w io.Writer, list []block.Block, now time.Time) error {
	s := &setter{report: &sheet{Title: "Result", Made: "Written by wheatear, " + now.Format("2006-01-02 15:04") + "."}}
	for _, b := range list {
		s.block(b)
	}
	if legend := s.set.Legend(); legend != "" {
		s.section(section{Text: []string{legend}})
	}
	return pages.Execute(w, s.report)
}

type setter struct {
	set    typeset.Setter
	report *sheet
}

func (s *setter) section(of section) { s.report.Sections = append(s.report.Sections, of) }

func (s *setter) block(b block.Block) {
	switch b := b.(type) {
	case block.Headline:
		s.headline(b)
	case block.Figures:
		s.section(section{Heading: b.Title, Table: s.figures(b.List)})
	case block.Table:
		if !b.Hidden {
			s.section(section{Heading: b.Title, Table: s.table(b), Text: s.sentences(b.Notes)})
		}
	case block.Paragraphs:
		s.section(section{Heading: b.Title, Text: s.sentences(b.Text)})
	case block.Lines:
		s.section(section{Lines: b.List})
	case block.Advice:
		s.section(section{Heading: "What to do", Text: s.sentences(b.Text)})
	case block.Chart:
		var svg bytes.Buffer
		if b.Draw(&svg, plot.SVG) == nil {
			s.section(section{Drawing: drawing{SVG: svg.Bytes(), Shows: b.Shows}})
		}
	case block.Findings:
		s.findings(b)
	case block.Provenance:
		s.report.About = append(s.report.About, s.set.Text(b.Short))
		s.section(section{Heading: "Measured with", Table: s.figures(b.List)})
	}
}

func (s *setter) headline(h block.Headline) {
	if len(h.Title) > 0 {
		s.report.Title = s.set.Text(h.Title)
	}
	s.report.Verdict = strings.ToUpper(h.Verdict)
	list := h.Beside
	if h.Main != nil {
		list = append([]block.Figure{*h.Main}, h.Beside...)
	}
	if len(list)+len(h.Notes) > 0 {
		s.section(section{Table: s.figures(list), Text: s.sentences(h.Notes)})
	}
}

func (s *setter) sentences(list []block.Text) (out []string) {
	for _, t := range list {
		out = append(out, s.set.Sentence(t))
	}
	return out
}

func (s *setter) figures(list []block.Figure) *table {
	t := &table{Head: []string{"", ""}}
	for _, f := range list {
		text := s.set.Value(f.Value)
		if len(f.Remark) > 0 {
			text += ", " + s.set.Text(f.Remark)
		}
		t.Rows = append(t.Rows, []string{f.Name, text})
	}
	return t
}

func (s *setter) table(b block.Table) *table {
	t := &table{}
	columns := b.Shown()
	for _, c := range columns {
		t.Head = append(t.Head, b.Columns[c].Name)
	}
	for _, row := range b.Rows {
		cells := make([]string, len(columns))
		for k, c := range columns {
			switch {
			case len(row.Rest) > 0 && k == 1:
				cells[k] = s.set.Text(row.Rest)
			case len(row.Rest) > 0 && k > 1, c >= len(row.Cells), !row.Cells[c].Known():
			default:
				cells[k] = s.set.Value(row.Cells[c])
			}
		}
		t.Rows = append(t.Rows, cells)
	}
	return t
}

// findings are written as elsewhere, each sentence once.
func (s *setter) findings(b block.Findings) {
	var list []finding.Finding
	for _, f := range append(b.List[:len(b.List):len(b.List)], b.Settled...) {
		detail := s.set.Sentence(f.Detail)
		if len(f.Where) > 0 {
			const most = 6
			seen := "once"
			if f.Count > 1 {
				seen = strconv.Itoa(f.Count) + " times"
			}
			detail += " Seen " + seen + ": " + s.set.Where(f.Where, most) + "."
		}
		list = append(list, finding.Finding{Code: f.Code, Severity: f.Severity, Detail: detail, Advice: strings.TrimSuffix(s.set.Text(f.Advice), ".")})
	}
	if len(list) > 0 {
		s.section(section{Heading: cmp.Or(b.Title, "Findings"), Findings: list})
	}
}
