package page

import (
	"time"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/render/typeset"
	"example.org/wheatear/cmd/wheatear/internal/render/view"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/tell"
)

// SortSheet is a lot in words and figures, of the same size however many parts there are.
type SortSheet struct {
	Lines     []Line       `json:"lines"` // mean and spread; none of fewer than two parts
	Bins      []result.Bin `json:"bins"`
	Outliers  int          `json:"outliers"`
	Left      []LeftOut    `json:"left_out"`  // the last of the outliers, the newest first
	Histogram *Histogram   `json:"histogram"` // nil where no part counts
}

// LeftOut is a part that does not count for mean and spread.
type LeftOut struct {
	No    int      `json:"no"`
	Value *float64 `json:"value"` // nil of one that has none
	Rule  string   `json:"rule"`
}

// Histogram is how many parts have which value, in columns of equal width, from low on.
type Histogram struct {
	Unit      string   `json:"unit"`
	Low       float64  `json:"low"`
	Width     float64  `json:"width"`
	Counts    []int    `json:"counts"`
	Mean      float64  `json:"mean"`
	SD        *float64 `json:"sd"`         // of the parts themselves
	LimitLow  *float64 `json:"limit_low"`  // nil for none
	LimitHigh *float64 `json:"limit_high"` // likewise
}

// mostLeftOut are listed.
const mostLeftOut = 100

// sheetOfLot tells a lot.
func sheetOfLot(s *result.Sorted) *SortSheet {
	out := &SortSheet{Lines: []Line{}, Bins: append([]result.Bin{}, s.Bins...), Outliers: len(s.Outliers), Left: []LeftOut{}}
	var set typeset.Setter
	for _, f := range tell.SortedFigures(s) {
		line := Line{Name: f.Name, Text: set.Value(f.Value)}
		if len(f.Remark) > 0 {
			line.Text += ", " + set.Text(f.Remark)
		}
		out.Lines = append(out.Lines, line)
	}
	for i := len(s.Parts) - 1; i >= 0 && len(out.Left) < mostLeftOut; i-- {
		if p := &s.Parts[i]; p.Rule != "" {
			out.Left = append(out.Left, LeftOut{p.Number, p.Value, string(p.Rule)})
		}
	}
	if h := s.Histogram(); h != nil && s.Mean != nil {
		out.Histogram = &Histogram{Unit: s.Unit(), Low: h.Low, Width: h.Width, Counts: h.Counts, Mean: *s.Mean, SD: s.Spread}
		if s.Limits != nil {
			out.Histogram.LimitLow, out.Histogram.LimitHigh = &s.Limits.Low, &s.Limits.High
		}
	}
	return out
}

// SortedPart is a part of a lot as a page shows it.
type SortedPart struct {
	No      int       `json:"no"`
	Name    string    `json:"name"`
	Time    time.Time `json:"time"`
	Outcome string    `json:"outcome"` // pass, fail, undecided or unread
	Value   string    `json:"value"`   // with its unit; — of one that was not read
	Half    string    `json:"half"`    // of the 95 % interval; may be empty
	Why     string    `json:"why"`
	Bin     string    `json:"bin"`
	Doubt   string    `json:"bin_doubt"` // how sure the bin is, where it is less than 95 %
	Rule    string    `json:"rule"`      // by which it is left out of the spread; empty of one that counts
}

func sortedPart(p *result.SortedPart, limits *result.Limits) SortedPart {
	var set typeset.Setter
	bin, doubt := tell.SortedBin(p)
	out := SortedPart{No: p.Number, Name: p.Name, Outcome: tell.Outcome(p), Why: set.Text(tell.WhyJudged(p, limits)), Bin: bin, Doubt: set.Text(doubt), Rule: string(p.Rule)}
	h := view.Headline(block.Headline{Main: &block.Figure{Value: tell.SortedValue(p)}})
	out.Value, out.Half = h.Value, h.Half
	if p.Time != nil {
		out.Time = *p.Time
	}
	return out
}
