package html

import (
	_ "embed"
	"html/template"
	"slices"

	"example.org/wheatear/lockin/finding"
)

// sheet is what is written.
type sheet struct {
	Title    string
	About    []string // below the title: what was measured, with what, when
	Verdict  string   // one word or a few, large; empty for none
	Sections []section
	Made     string // by which program and when, at the foot
}

// Long reports whether a table fills half a page: drawings are then smaller.
func (r *sheet) Long() bool {
	return slices.ContainsFunc(r.Sections, func(s section) bool { return s.Table != nil && !s.Table.Few() })
}

// section is one part of a report. What is empty is left out.
type section struct {
	Heading  string
	Text     []string // paragraphs
	Table    *table
	Drawing  drawing
	Findings []finding.Finding
	Lines    []string // as they are, in letters of one width
}

// table has a heading row; the first column names the rows.
type table struct {
	Head []string
	Rows [][]string
}

// Headed reports whether there is anything in the heading row.
func (t *table) Headed() bool {
	return slices.ContainsFunc(t.Head, func(cell string) bool { return cell != "" })
}

// most is how many rows a table has that is not spread over two sheets of paper.
const most = 12

// Few reports whether the table is to stay on one sheet.
func (t *table) Few() bool { return len(t.Rows) <= most }

// signed puts a minus sign where a number begins with a hyphen.
func signed(cell string) string {
	if len(cell) > 1 && cell[0] == '-' && cell[1] >= '0' && cell[1] <= '9' {
		return "−" + cell[1:]
	}
	return cell
}

// drawing is an SVG picture, with what it shows for those who cannot see it.
type drawing struct {
	SVG   []byte
	Shows string
}

//go:embed paper.html
var page string

//go:embed paper.css
var look string

var pages = template.Must(template.New("paper").Funcs(template.FuncMap{
	"svg":    func(d drawing) template.HTML { return template.HTML(inline(d.SVG)) }, // drawn by internal/plot, never from outside
	"signed": signed,
	"look":   func() template.CSS { return template.CSS(look) },
}).Parse(page))
