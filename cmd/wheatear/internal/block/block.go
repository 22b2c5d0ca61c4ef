// Package block has the pieces of which every document is told: a headline, figures,
// tables, charts, findings, advice and what it all rests on. Package tell makes them of
// a document, the packages below render set them for a terminal, a sheet of paper, a
// page or a spreadsheet. Numbers stay numbers in them.
package block

import (
	"io"

	"example.org/wheatear/cmd/wheatear/internal/plot"
	"example.org/wheatear/lockin/finding"
)

// Block is one piece. The types below are all there are.
type Block interface{ block() }

// Headline says what a document comes to: the main figure, set apart, or a verdict.
type Headline struct {
	Title   Text    // what was looked at, and what it is
	Main    *Figure // nil for none
	Beside  []Figure
	Verdict string // in a word or two; empty for none
	Notes   []Text // what to know of the main figure, a sentence each
}

// Figure is one named quantity. The key is the same in every output and version; a
// program finds the figure by it.
type Figure struct {
	Key    string
	Name   string
	Value  Value
	Remark Text
}

// Figures are named quantities below each other.
type Figures struct {
	Title string
	List  []Figure
	Full  bool // left out where a person wants the essential only
}

// Table has one row for each thing of a kind. Numbers in a column share a unit.
type Table struct {
	Title   string
	Columns []Column
	Rows    []Row
	Notes   []Text
	Hidden  bool // from people: for files only
	Full    bool // left out where a person wants the essential only
}

// Column is one of a table. A file has all columns, with their keys as heads; a person
// sees those that have a name.
type Column struct {
	Key  string
	Name string
	Unit string // of its numbers, for the head in a file
	Kind Kind   // of its cells, for a file
	// Rank is how soon the column is left out where there is no room: the highest first.
	Rank int
	// Least letters of its cells a terminal leaves where there is no room; 0 for all.
	Least int
}

// Kind says how many cells a column takes in a file.
type Kind int

// The kinds of columns.
const (
	Words      Kind = iota // one cell: a text or a number
	Quantities             // four: value, u, low and high
)

// Row is one line of a table. Rest, where there is any, is said to a person in place of
// the cells behind the first.
type Row struct {
	Cells []Value
	Rest  Text
}

// Paragraphs are sentences.
type Paragraphs struct {
	Title string
	Text  []Text
}

// Lines are to be copied as they are: a piece of a file, a command.
type Lines struct{ List []string }

// Chart is a drawing. Shows says what is in it, for those who cannot see it.
type Chart struct {
	Shows string
	Plain *Table // for those who see letters only; nil for nothing
	Draw  func(w io.Writer, format plot.Format) error
}

// Findings are what the recordings show, gravest first, each sentence once.
type Findings struct {
	Title string // empty where there is no need for one
	List  []Finding
	// Settled are notes that ask for nothing. Where there is little room they are one
	// line together.
	Settled []Finding
}

// Finding is what one or several findings of one kind say.
type Finding struct {
	Code     finding.Code
	Severity finding.Severity
	Detail   Text
	Where    []Text // each place once; none for everywhere
	Advice   Text
	Brief    []string // of what is settled: what was corrected or removed, each once
	Count    int      // how many findings it stands for
}

// Advice says what to do next, an action each.
type Advice struct{ Text []Text }

// Provenance is what the document rests on. Short is all of it in one line.
type Provenance struct {
	Short Text
	List  []Figure
}

func (Headline) block()   {}
func (Figures) block()    {}
func (Table) block()      {}
func (Paragraphs) block() {}
func (Lines) block()      {}
func (Chart) block()      {}
func (Findings) block()   {}
func (Advice) block()     {}
func (Provenance) block() {}

// Shown are the columns that a person sees.
func (t Table) Shown() []int {
	var list []int
	for i, c := range t.Columns {
		if c.Name != "" || i == 0 {
			list = append(list, i)
		}
	}
	return list
}

// ChartOf is the first drawing of a telling.
func ChartOf(list []Block) Chart { return ChartAt(list, 0) }

// ChartAt is a drawing of a telling, counted from 0; one that has nothing to draw where
// there are not as many.
func ChartAt(list []Block, n int) Chart {
	for _, b := range list {
		if c, ok := b.(Chart); ok {
			if n == 0 {
				return c
			}
			n--
		}
	}
	return Chart{Draw: func(io.Writer, plot.Format) error { return plot.ErrNothing }}
}
