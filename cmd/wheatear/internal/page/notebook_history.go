package page

import (
	"context"
	"errors"
	"math"
	"net/http"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/notebook"
	"example.org/wheatear/cmd/wheatear/internal/render/typeset"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/tell"
)

// HistoryView is one quantity of one part over time, with its trend in words.
type HistoryView struct {
	Label    string         `json:"label"`
	FreqHz   *float64       `json:"frequency_hz"` // null where nothing is found
	At       string         `json:"at"`
	Quantity string         `json:"quantity"`
	Unit     string         `json:"unit"`
	Total    int            `json:"total"`   // readings found
	Points   []HistoryPoint `json:"points"`  // the newest of them, the oldest first
	Others   int            `json:"others"`  // readings at other frequencies or of other quantities
	Choices  []HistoryOther `json:"choices"` // of frequency and quantity, those with most readings first
	Words    string         `json:"words"`   // of all
	Changes  string         `json:"changes"` // how sure a change is; empty for too few readings
	Line     []LinePoint    `json:"line"`    // the trend
}

// HistoryPoint is one reading of it.
type HistoryPoint struct {
	result.Past
	Text string `json:"text"`
}

// HistoryOther is a frequency and quantity that there are readings of.
type HistoryOther struct {
	FreqHz   float64 `json:"frequency_hz"`
	At       string  `json:"at"`
	Quantity string  `json:"quantity"`
	Readings int     `json:"readings"`
}

// LinePoint is the trend at a time, with its 95 % interval.
type LinePoint struct {
	Time  time.Time `json:"time"`
	Value float64   `json:"value"`
	Low   float64   `json:"low"`
	High  float64   `json:"high"`
}

const (
	mostPast    = 1000 // readings of a history that are told
	mostChoices = 100
	lineSteps   = 24 // of the band, which is a hyperbola
)

// notebookHistory is a part over time.
func (b *Bench) notebookHistory(r *http.Request) (any, error) {
	a := b.asked(r)
	label := a.text("label")
	c := notebook.Choice{FreqHz: a.frequency("frequency"), Quantity: a.text("quantity"), Since: a.moment("since"), Until: a.moment("until")}
	if label == "" {
		a.fail("label: which part is meant?")
	}
	if a.err != nil {
		return nil, a.err
	}
	past, err := lookUp(r.Context(), b.book, func(ctx context.Context, n *notebook.Notebook) (*notebook.Past, error) {
		return n.History(ctx, label, c)
	})
	if errors.Is(err, errNotBegun) {
		past, err = &notebook.Past{Label: label}, nil
	}
	if err != nil {
		return nil, err
	}
	return historyOf(past), nil
}

func historyOf(p *notebook.Past) *HistoryView {
	doc := p.HistoryDocument()
	v := &HistoryView{Label: p.Label, Total: len(p.Points), Points: []HistoryPoint{}, Others: p.Others, Choices: []HistoryOther{}, Line: []LinePoint{}}
	for _, c := range p.Choices[:min(mostChoices, len(p.Choices))] {
		v.Choices = append(v.Choices, HistoryOther{c.FreqHz, place(c.FreqHz), c.Quantity, c.Readings})
	}
	if len(p.Points) == 0 {
		v.Words = "There is no reading of it that can be trusted."
		return v
	}
	v.FreqHz, v.At, v.Quantity, v.Unit, v.Words = &p.FreqHz, place(p.FreqHz), p.Quantity, p.Unit, (&typeset.Setter{}).Sentence(tell.Trend(doc))
	for _, q := range doc.Points[max(0, len(p.Points)-mostPast):] {
		v.Points = append(v.Points, HistoryPoint{q, written(block.Of(q.What(), p.Unit))})
	}
	if p.Trend != nil {
		v.Changes = string(p.Trend.Significance())
		v.Line = lineThrough(p.Trend, v.Points[0].Time, v.Points[len(v.Points)-1].Time)
	}
	return v
}

// lineThrough is the trend from one time to another.
func lineThrough(t *notebook.Trend, from, to time.Time) []LinePoint {
	line := []LinePoint{}
	for i := range lineSteps + 1 {
		at := from.Add(time.Duration(float64(i) / lineSteps * float64(to.Sub(from))))
		value, half := t.At(at)
		if !(math.Abs(value)+math.Abs(half) <= math.MaxFloat64) {
			return []LinePoint{}
		}
		line = append(line, LinePoint{at, value, value - half, value + half})
	}
	return line
}
