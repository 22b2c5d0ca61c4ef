package notebook

import (
	"math"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/result"
)

// ListDocument is entries of a notebook, of which there are total in all.
func ListDocument(file string, entries []*Entry, total int) *result.NotebookList {
	doc := &result.NotebookList{Schema: result.NotebookListSchema, File: file, Total: total, Entries: []result.Entry{}}
	for _, e := range entries {
		doc.Entries = append(doc.Entries, e.Short())
	}
	return doc
}

// Short is an entry as a list shows it.
func (e *Entry) Short() result.Entry {
	s := result.Entry{ID: e.ID, Key: e.Key, Time: e.Time, Kind: string(e.Kind), Label: e.Label, Note: e.Note, Jig: e.JigName, Trusted: e.Trusted,
		Findings: append([]string{}, e.Findings...), Files: append([]string{}, e.Files...), Points: []result.Point{}}
	for _, p := range e.Points {
		s.Points = append(s.Points, result.Point(p))
	}
	if e.Verdict != "" {
		s.Verdict = &e.Verdict
	}
	return s
}

// ShowDocument is an entry with all that it rests on, and the files of its recordings.
func (e *Entry) ShowDocument(kept []string) *result.NotebookShow {
	doc := &result.NotebookShow{Schema: result.NotebookShowSchema, Entry: e.Short(), Command: e.Command, RestsOn: []result.Kept{},
		Kept: append([]string{}, kept...), Result: e.Result}
	for _, d := range e.Documents {
		doc.RestsOn = append(doc.RestsOn, result.Kept{Role: d.Role, Name: d.Name, SHA256: d.SHA256, Text: d.Text})
	}
	return doc
}

// HistoryDocument is a part over time.
func (p *Past) HistoryDocument() *result.NotebookHistory {
	doc := &result.NotebookHistory{Schema: result.NotebookHistorySchema, Label: p.Label, Points: []result.Past{}, Others: p.Others}
	if len(p.Points) > 0 {
		doc.FreqHz, doc.Quantity, doc.Unit = &p.FreqHz, &p.Quantity, &p.Unit
	}
	for _, r := range p.Points {
		doc.Points = append(doc.Points, result.Past{ID: r.ID, Time: r.Time, Value: r.Value, U: r.U, Low: bounded(r.Low), High: bounded(r.High)})
	}
	if t := p.Trend; t != nil {
		doc.Trend = &result.Trend{Readings: t.Readings, Middle: t.Middle, Value: t.Mean, SlopePerS: t.Slope, SlopeU: t.U,
			Freedom: bounded(t.Freedom), Chance: t.Chance, Significance: string(t.Significance())}
	}
	return doc
}

// bounded is a number that a document can hold; nil for others.
func bounded(v float64) *float64 {
	if math.IsInf(v, 0) || math.IsNaN(v) {
		return nil
	}
	return &v
}

// Document is what was, or would be, deleted.
func (p Pruned) Document(done bool) *result.NotebookPrune {
	doc := &result.NotebookPrune{Schema: result.NotebookPruneSchema, Entries: p.Entries, Records: p.Records, Done: done}
	if p.Entries > 0 {
		doc.Oldest, doc.Newest = at(p.Oldest), at(p.Newest)
	}
	return doc
}

func at(t time.Time) *time.Time { return &t }

// Document is what is damaged.
func (x *Examined) Document() *result.NotebookCheck {
	doc := &result.NotebookCheck{Schema: result.NotebookCheckSchema, Entries: x.Entries, Records: x.Records, Absent: x.Absent, Problems: []result.Problem{}}
	for _, p := range x.Problems {
		doc.Problems = append(doc.Problems, result.Problem(p))
	}
	return doc
}
