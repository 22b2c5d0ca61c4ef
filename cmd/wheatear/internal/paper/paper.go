// Package paper writes reports as one HTML file each: text, tables and drawings,
// with nothing that has to be loaded from elsewhere. They read on a screen, light or
// dark, and print on A4 and Letter.
package paper

import (
	_ "embed"
	"html/template"
	"io"

	"example.org/wheatear/lockin"
)

// Report is what is written.
type Report struct {
	Title    string
	About    []string // below the title: what was measured, with what, when
	Verdict  string   // one word or a few, large; empty for none
	Sections []Section
	Made     string // by which program and when, at the foot
}

// Section is one part of a report. What is empty is left out.
type Section struct {
	Heading  string
	Text     []string // paragraphs
	Table    *Table
	Drawing  Drawing
	Findings []lockin.Finding
	Lines    []string // as they are, in letters of one width
}

// Table has a heading row; the first column names the rows.
type Table struct {
	Head []string
	Rows [][]string
}

// Drawing is an SVG picture, with what it shows for those who cannot see it.
type Drawing struct {
	SVG   []byte
	Shows string
}

//go:embed paper.html
var page string

//go:embed paper.css
var look string

var pages = template.Must(template.New("paper").Funcs(template.FuncMap{
	"svg":  func(d Drawing) template.HTML { return template.HTML(inline(d.SVG)) }, // drawn by internal/plot, never from outside
	"look": func() template.CSS { return template.CSS(look) },
}).Parse(page))

// Write writes a report.
func Write(w io.Writer, r *Report) error { return pages.Execute(w, r) }
