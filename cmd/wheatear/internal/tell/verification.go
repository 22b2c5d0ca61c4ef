package tell

import (
	"math"
	"strings"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/jigcheck"
	"example.org/wheatear/lockin/uncertain"
)

// topics in their order, as a person reads them.
var topics = []struct{ topic, title string }{
	{"silence", "Idle noise"}, {"inputs", "Inputs"}, {"reference", "Reference"}, {"source", "Source"},
	{"open", "Residual of the open"}, {"short", "Residual of the short"}, {"contact", "Contact"}, {"stray", "Stray"},
	{"levels", "Over level"}, {"drift", "Drift"}, {"stream", "Stream"}, {"check", "Known parts"}, {"earlier", "Against the earlier verification"},
}

// Verification tells whether a jig can be believed. More is what a report has beside, such
// as drawings of what is not in the document, and the limits.
func Verification(v *result.Verification, more ...block.Block) []block.Block {
	title := block.Say("%v, verified %v", v.Jig, moment(v.Date))
	if v.Card != nil {
		title = block.Say("%v, %v", title, *v.Card)
	}
	head := block.Headline{Title: title, Verdict: v.Verdict}
	if len(v.Faults) == 0 {
		head.Notes = []block.Text{block.Say("No fault was found in what was examined")}
	} else {
		head.Notes = []block.Text{block.Count(len(v.Faults), "fault")}
	}
	out := []block.Block{head, faults(v.Faults)}
	for _, t := range topics {
		out = append(out, topic(v, t.topic, t.title)...)
	}
	out = append(out, more...)
	out = append(out, leftOut(v)...)
	found := Findings(v.Findings)
	found.Title = "Findings of the recordings"
	out = append(out, found)
	out = append(out, earlier(v)...)
	if v.File != nil {
		out = append(out, block.Paragraphs{Text: []block.Text{block.Say("Kept in %v: calibrate, measure and sweep take contact, stray and drift from there where the jig file does not state them", *v.File)}})
	}
	return out
}

// moment is a time of a document; what is none stays as it is.
func moment(text string) block.Text {
	at, err := time.Parse(time.RFC3339, text)
	if err != nil {
		return block.Say("%v", text)
	}
	return block.Say("%v", block.Moment(at))
}

// faults are told one by one: each has figures of its own.
func faults(list []result.Fault) block.Findings {
	out := block.Findings{Title: "Faults"}
	for _, f := range list {
		at := finding.Finding{}
		if f.Channel != nil {
			at.Channel = *f.Channel
		}
		if f.FreqHz != nil {
			at.FreqHz = *f.FreqHz
		}
		x := block.Finding{Code: f.Code, Severity: f.Severity, Detail: block.Say("%v", f.Detail), Advice: block.Say("%v", f.Advice), Count: 1}
		if w := where(at); len(w) > 0 {
			x.Where = []block.Text{w}
		}
		out.List = append(out.List, x)
	}
	return out
}

// topic has a table of single figures, a column for each input, and one of those that were
// measured at several frequencies or levels; and a drawing.
func topic(v *result.Verification, name, title string) (out []block.Block) {
	times := map[string]int{}
	for i := range v.Figures {
		if f := &v.Figures[i]; f.Topic == name {
			times[label(f)]++
		}
	}
	var single, several []*result.JigFigure
	for i := range v.Figures {
		switch f := &v.Figures[i]; {
		case f.Topic != name:
		case times[label(f)] > 1:
			several = append(several, f)
		default:
			single = append(single, f)
		}
	}
	if len(single) > 0 {
		t := grid(single, func(f *result.JigFigure) (block.Value, string) {
			text := block.Say("%v", f.Name)
			if f.Readings != nil {
				text = block.Say("%v, from %v", text, *f.Readings)
			}
			return block.Value{Text: text}, input(f, "value")
		})
		t.Title = title
		out = append(out, t)
	}
	if len(several) > 0 {
		t := grid(several, func(f *result.JigFigure) (block.Value, string) {
			if f.Played != nil {
				return dbfs(f.Played), label(f)
			}
			return block.PlaceHz(block.OrNaN(f.FreqHz)), label(f)
		})
		if len(single) == 0 {
			t.Title = title
		}
		out = append(out, t)
	}
	if c := jigChart(v, name, title); c != nil {
		out = append(out, *c)
	}
	return out
}

// input is the input that a figure is of; other where it is of none, or its name says it.
func input(f *result.JigFigure, other string) string {
	if f.Channel == nil || strings.Contains(f.Name, "input") {
		return other
	}
	return []string{"input 1", "input 2"}[min(max(*f.Channel, 1), 2)-1]
}

// label is the name of a figure with its input.
func label(f *result.JigFigure) string {
	if of := input(f, ""); of != "" {
		return f.Name + ", " + of
	}
	return f.Name
}

// rowKey is what a row is of.
type rowKey struct {
	name string
	at   float64
}

// grid has a row and a column for each that place gives.
func grid(list []*result.JigFigure, place func(f *result.JigFigure) (row block.Value, column string)) block.Table {
	t := block.Table{Columns: []block.Column{{}}}
	columns, rows := map[string]int{}, map[rowKey]int{}
	for _, f := range list {
		head, name := place(f)
		if _, ok := columns[name]; !ok {
			columns[name] = len(t.Columns)
			t.Columns = append(t.Columns, block.Column{Name: name, Rank: len(t.Columns)})
		}
		key := rowKey{plain(head.Text), head.Quantity.Value}
		row, ok := rows[key]
		if !ok {
			row = len(t.Rows)
			rows[key] = row
			t.Rows = append(t.Rows, block.Row{Cells: []block.Value{head}})
		}
		cells := t.Rows[row].Cells
		for len(cells) <= columns[name] {
			cells = append(cells, block.Value{Quantity: uncertain.Absent()})
		}
		cells[columns[name]] = amount(f.Amount)
		t.Rows[row].Cells = cells
	}
	return t
}

// amount is a figure with its interval. One without a unit is in per cent or ppm.
func amount(a result.Amount) block.Value {
	q := a.Quantity()
	exact := q.High == q.Low
	switch {
	case math.IsInf(q.Value, -1):
		return block.Word("none seen")
	case a.Unit == "dB" && exact:
		return block.Number(math.Round(100*q.Value)/100, "dB", 6)
	case a.Unit == "dBFS" && exact:
		return dbfs(&q.Value)
	case exact && a.Unit == "":
		return block.Number(q.Value, "", 3)
	case exact:
		return block.Number(q.Value, a.Unit, 5)
	case a.Unit == "" && math.Max(math.Abs(q.Value), q.High-q.Low) < 1e-3:
		return block.Of(times(q, 1e6), "ppm")
	case a.Unit == "":
		return block.Of(q, block.Share)
	}
	return block.Of(q, a.Unit)
}

func times(q uncertain.Quantity, by float64) uncertain.Quantity {
	return uncertain.Quantity{Value: by * q.Value, U: by * q.U, Low: by * q.Low, High: by * q.High}
}

// leftOut says what was not examined, and what is to be known.
func leftOut(v *result.Verification) (out []block.Block) {
	open := block.Paragraphs{Title: "Not looked at"}
	for _, s := range v.Steps {
		switch {
		case s.Recordings == 0:
			open.Text = append(open.Text, block.Say("%v: %v", string(s.Step), s.Tells))
		case s.Usable < s.Recordings:
			open.Text = append(open.Text, block.Say("%v: %v of %v cannot be used", string(s.Step), s.Recordings-s.Usable, block.Count(s.Recordings, "recording")))
		}
	}
	notes := block.Paragraphs{Title: "Notes"}
	for _, n := range v.Notes {
		notes.Text = append(notes.Text, block.Say("%v", n))
	}
	for _, p := range []block.Paragraphs{open, notes} {
		if len(p.Text) > 0 {
			out = append(out, p)
		}
	}
	return out
}

// earlier lists the verifications before this one.
func earlier(v *result.Verification) []block.Block {
	if len(v.Earlier) == 0 {
		return nil
	}
	t := block.Table{Title: "Earlier verifications", Columns: []block.Column{{Name: "date"}, {Name: "noise 1"}, {Name: "noise 2", Rank: 3}, {Name: "hum 1"}, {Name: "hum 2", Rank: 3},
		{Name: "contact", Rank: 2}, {Name: "drift", Rank: 2}, {Name: "faults", Rank: 1}}}
	some := func(v float64, unit string) block.Value {
		if v == 0 {
			return block.Value{Quantity: uncertain.Absent()}
		}
		return block.Rough(v, unit)
	}
	level := func(rms float64) block.Value {
		if rms == 0 {
			return block.Value{Quantity: uncertain.Absent()}
		}
		return loudness(&rms, 1)
	}
	for _, e := range v.Earlier {
		t.Rows = append(t.Rows, block.Row{Cells: []block.Value{{Quantity: uncertain.Absent(), Text: moment(e.Date)}, level(e.NoiseRMS[0]), level(e.NoiseRMS[1]),
			level(e.HumRMS[0]), level(e.HumRMS[1]), some(e.ContactOhm, "Ω"), some(1e6*e.Drift, "ppm"), words(e.Faults)}})
	}
	return []block.Block{t}
}

// JigLimits says from where on a figure is a fault.
func JigLimits() block.Block {
	out := block.Figures{Title: "Limits"}
	for _, o := range jigcheck.Ordinary() {
		out.List = append(out.List, block.Figure{Key: o.What, Name: o.What, Value: block.Word(o.Limit)})
	}
	out.List = append(out.List, block.Figure{Key: "fault", Name: "fault", Value: block.Word("beyond its limit by more than four standard uncertainties; what the jig file states goes first")})
	return out
}
