package report

import (
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strings"

	"example.org/wheatear/cmd/wheatear/internal/notebook"
	"example.org/wheatear/cmd/wheatear/internal/render/view"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/tell"
	"example.org/wheatear/lockin/fixture"
)

// Facts puts the result of an entry into words: what it says first, what that rests on
// after it. Every published kind of result has its own rendering, in the words of the
// command that made it; of an unknown one, such as another version of the program may
// write, Facts tells the plain values at its top. What a document lacks is left out: Facts
// never fails.
func Facts(e *notebook.Entry) []Section {
	if doc, err := result.Read(e.Result); err == nil {
		if l, ok := doc.(*result.Levels); ok {
			l.Relative = l.Relative || relative(e)
		}
		return view.Sections(tell.Document(doc))
	}
	f := &facts{relative: relative(e)}
	name, _, _ := strings.Cut(strings.TrimPrefix(e.Schema, "wheatear."), "/")
	teller := tellers[name]
	if teller == nil || e.Schema != "wheatear."+name+"/1" {
		teller = (*facts).unknown
	}
	teller(f, e.Result)
	return f.done()
}

// tellers are the renderings, by the name in the schema.
var tellers = map[string]func(*facts, json.RawMessage){
	"plan": (*facts).plan,
}

// relative reports whether levels are relative to full scale, as they are where the jig
// file does not tell its volts.
func relative(e *notebook.Entry) bool {
	d := e.Document(notebook.JigFile)
	if d == nil {
		return false
	}
	jig, err := fixture.ParseJig(d.Name, []byte(d.Text))
	return err == nil && jig.FullScaleVolt == nil
}

// facts collects sections.
type facts struct {
	relative bool // levels are to full scale
	list     []*Section
}

// decode reads what it can of a document into its form. What has another form than
// expected stays as it was, which is all that one can do about it.
func decode[T any](text json.RawMessage) *T {
	doc := new(T)
	_ = json.Unmarshal(text, doc)
	return doc
}

// section begins one.
func (f *facts) section(title string) *Section {
	s := &Section{Title: title}
	f.list = append(f.list, s)
	return s
}

// last is the section under way.
func (f *facts) last() *Section {
	if len(f.list) == 0 {
		return f.section("")
	}
	return f.list[len(f.list)-1]
}

// say adds a sentence, unless it is empty.
func (f *facts) say(text string) {
	if text = strings.TrimSpace(text); text != "" {
		s := f.last()
		s.Words = append(s.Words, sentence(text))
	}
}

// fact adds a figure, unless it is empty.
func (f *facts) fact(name, text string, remark ...string) {
	if text != "" {
		s := f.last()
		s.Facts = append(s.Facts, Fact{Name: name, Text: text, Remark: strings.Join(remark, "; ")})
	}
}

// mostRows of a table are shown; the document has all.
const mostRows = 400

// table adds a table whose first row is its head.
func (f *facts) table(rows [][]string) {
	s := f.last()
	if len(rows) < 2 {
		return
	}
	s.Head = rows[0]
	left := len(rows) - 1 - mostRows
	for _, row := range rows[1:min(len(rows), mostRows+1)] {
		row = append(slices.Clone(row), make([]string, max(0, len(s.Head)-len(row)))...)
		s.Rows = append(s.Rows, row[:len(s.Head)])
	}
	if left > 0 {
		f.say(fmt.Sprintf("%d more are in the document", left))
	}
}

// done is what was collected, without sections that stayed empty.
func (f *facts) done() []Section {
	out := []Section{}
	for _, s := range f.list {
		if len(s.Words)+len(s.Facts)+len(s.Rows)+len(s.Findings) == 0 {
			continue
		}
		s.Words, s.Facts, s.Findings = listed(s.Words), listed(s.Facts), listed(s.Findings)
		s.Head, s.Rows = listed(s.Head), listed(s.Rows)
		for i := range s.Words {
			s.Words[i] = said(s.Words[i])
		}
		for i, fact := range s.Facts {
			s.Facts[i] = Fact{Name: said(fact.Name), Text: said(fact.Text), Remark: said(fact.Remark)}
		}
		for _, row := range append([][]string{s.Head}, s.Rows...) {
			for i := range row {
				row[i] = said(row[i])
			}
		}
		out = append(out, *s)
	}
	return out
}

// said writes a text as a page shows it, without the marks of Tie.
func said(text string) string { return tight.Replace(text) }

// WriteFacts writes sections for people.
func WriteFacts(w io.Writer, sections []Section) {
	for i, s := range sections {
		if i > 0 {
			fmt.Fprintln(w)
		}
		if s.Title != "" {
			fmt.Fprintln(w, s.Title)
		}
		indent := ""
		if s.Title != "" {
			indent = "  "
		}
		writeFacts(w, s.Facts)
		for _, text := range s.Words {
			Wrap(w, indent, tieFigures(text))
		}
		if len(s.Rows) > 0 {
			columns(w, append([][]string{slices.Clone(s.Head)}, s.Rows...), padLeft)
		}
		for _, t := range s.Findings {
			writeTold(w, t)
		}
	}
}

// writeFacts writes figures, their names in a column.
func writeFacts(w io.Writer, list []Fact) {
	names := 0
	for _, f := range list {
		names = min(nameColumns, max(names, width(f.Name)))
	}
	for _, f := range list {
		text := Tie(f.Text)
		if width(f.Text) > Columns-nameColumns {
			text = tieFigures(f.Text)
		}
		if f.Remark != "" {
			text += ", " + tieFigures(f.Remark)
		}
		Wrap(w, "  "+padRight(f.Name, names)+"  ", text)
	}
}

func writeTold(w io.Writer, t Told) {
	Wrap(w, padRight(t.Severity, 9), strings.TrimSpace(t.Code+" "+t.Where)+": "+tieFigures(t.Detail))
	if t.Advice != "" {
		Wrap(w, strings.Repeat(" ", 9)+"→ ", tieFigures(t.Advice))
	}
}
