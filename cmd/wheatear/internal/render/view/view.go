// Package view sets blocks as JSON for the pages of the local server: texts with the
// digits that the uncertainty carries, in the order in which they are told.
package view

import (
	"cmp"
	"slices"
	"strings"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/render/typeset"
	"example.org/wheatear/lockin/finding"
)

// Section is a piece of what a document says: named figures, then sentences, then a
// table, then findings, of which any may be missing. Lists are empty rather than nil, so
// that JSON has no null.
type Section struct {
	Title    string     `json:"title"` // empty for what comes first
	Facts    []Fact     `json:"facts"`
	Words    []string   `json:"words"` // sentences
	Head     []string   `json:"head"`  // of the table, a cell for each column; the first may be empty
	Rows     [][]string `json:"rows"`  // as many cells as Head each
	Findings []Told     `json:"findings"`
}

// Fact is a named figure.
type Fact struct {
	Key    string `json:"key,omitempty"` // the same in every version
	Name   string `json:"name"`
	Text   string `json:"text"`   // the value with its uncertainty and unit, or a word
	Remark string `json:"remark"` // what to know of it; mostly empty
}

// Told is a finding in words.
type Told struct {
	Code     string `json:"code"`
	Severity string `json:"severity"`
	Where    string `json:"where"`
	Detail   string `json:"detail"`
	Advice   string `json:"advice"`
}

// mostRows of a table are shown; the document has all.
const mostRows = 400

// Sections sets blocks.
func Sections(list []block.Block) []Section {
	p := &setter{}
	for _, b := range list {
		p.block(b)
	}
	out := []Section{}
	for _, s := range p.list {
		if len(s.Words)+len(s.Facts)+len(s.Rows)+len(s.Findings) > 0 {
			out = append(out, *s)
		}
	}
	return out
}

type setter struct {
	set  typeset.Setter
	list []*Section
}

func (p *setter) begin(title string) *Section {
	s := &Section{Title: title, Facts: []Fact{}, Words: []string{}, Head: []string{}, Rows: [][]string{}, Findings: []Told{}}
	p.list = append(p.list, s)
	return s
}

func (p *setter) block(b block.Block) {
	switch b := b.(type) {
	case block.Headline:
		s := p.begin("")
		s.Words = append(s.Words, p.set.Sentence(b.Title))
		if b.Verdict != "" {
			s.Facts = append(s.Facts, Fact{Key: "verdict", Name: "verdict", Text: b.Verdict})
		}
		if b.Main != nil {
			s.Facts = append(s.Facts, p.fact(*b.Main))
		}
		p.facts(s, b.Beside)
		p.words(s, b.Notes)
	case block.Figures:
		p.facts(p.begin(b.Title), b.List)
	case block.Table:
		if !b.Hidden {
			p.table(b)
		}
	case block.Paragraphs:
		p.words(p.begin(b.Title), b.Text)
	case block.Lines:
		p.begin("").Words = slices.Clone(b.List)
	case block.Advice:
		p.words(p.begin(""), b.Text)
	case block.Findings:
		s := p.begin(cmp.Or(b.Title, "Findings"))
		s.Findings = append(Findings(b), s.Findings...)
	case block.Provenance:
		p.facts(p.begin("Measured with"), b.List)
	}
}

func (p *setter) fact(f block.Figure) Fact {
	return Fact{f.Key, f.Name, p.set.Value(f.Value), p.set.Text(f.Remark)}
}

func (p *setter) facts(s *Section, list []block.Figure) {
	for _, f := range list {
		s.Facts = append(s.Facts, p.fact(f))
	}
}

func (p *setter) words(s *Section, list []block.Text) {
	for _, t := range list {
		s.Words = append(s.Words, p.set.Sentence(t))
	}
}

func (p *setter) table(t block.Table) {
	s := p.begin(t.Title)
	columns := t.Shown()
	for _, c := range columns {
		s.Head = append(s.Head, t.Columns[c].Name)
	}
	for _, row := range t.Rows[:min(len(t.Rows), mostRows)] {
		cells := make([]string, len(columns))
		for k, c := range columns {
			switch {
			case len(row.Rest) > 0 && k == 1:
				cells[k] = p.set.Text(row.Rest)
			case len(row.Rest) > 0 && k > 1, c >= len(row.Cells), !row.Cells[c].Known():
			default:
				cells[k] = p.set.Value(row.Cells[c])
			}
		}
		s.Rows = append(s.Rows, cells)
	}
	if left := len(t.Rows) - mostRows; left > 0 {
		s.Words = append(s.Words, p.set.Sentence(block.Say("%v more are in the document", left)))
	}
	p.words(s, t.Notes)
}

// Findings sets findings, those that ask for nothing behind the others.
func Findings(b block.Findings) []Told {
	var set typeset.Setter
	out := []Told{}
	for _, f := range append(b.List[:len(b.List):len(b.List)], b.Settled...) {
		out = append(out, Told{Code: string(f.Code), Severity: string(f.Severity), Where: set.Where(f.Where, 6),
			Detail: set.Sentence(f.Detail), Advice: set.Sentence(f.Advice)})
	}
	return out
}

// Worst is the gravest severity among findings.
func Worst(b block.Findings) finding.Severity {
	if len(b.List) == 0 {
		return ""
	}
	return b.List[0].Severity
}

// Head is the main figure in pieces that a page sets in different sizes.
type Head struct {
	Name  string `json:"name"`  // such as: capacitance in series
	Value string `json:"value"` // its digits, with the unit where there is no interval
	Half  string `json:"half"`  // its interval: ± and the half-width, or (a to b), with the unit; may be empty
}

// Headline sets the main figure.
func Headline(h block.Headline) Head {
	var set typeset.Setter
	if h.Main == nil {
		return Head{Name: h.Verdict, Value: typeset.None}
	}
	value, rest := set.Apart(h.Main.Value)
	return Head{h.Main.Name, value, strings.TrimPrefix(rest, "\u00a0")}
}
