package report

import (
	"fmt"
	"math"
	"strings"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/render/view"
	"example.org/wheatear/cmd/wheatear/internal/run"
	"example.org/wheatear/lockin/batch"
	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/uncertain"
)

// SortSheet is a run in the words and figures that a page shows, of the same size
// however many parts there are.
type SortSheet struct {
	Lines     []Line     `json:"lines"` // mean and spread; none of fewer than two parts
	Bins      []BinCount `json:"bins"`
	Outliers  int        `json:"outliers"`
	Left      []LeftOut  `json:"left_out"`  // the last of the outliers, the newest first
	Histogram *Histogram `json:"histogram"` // nil where no part counts
}

// BinCount is how many parts are in a bin.
type BinCount struct {
	Name  string `json:"name"`
	Count int    `json:"count"`
}

// LeftOut is a part that does not count for mean and spread.
type LeftOut struct {
	No    int      `json:"no"`
	Value *float64 `json:"value"` // nil of one that was not read
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

// spaced ties words as pages do, which break lines by themselves.
var spaced = strings.NewReplacer(tied, "\u00a0")

// mostLeftOut are listed.
const mostLeftOut = 100

// Sheet writes the run for a page.
func (s *Sorted) Sheet() *SortSheet {
	out := &SortSheet{Lines: []Line{}, Bins: []BinCount{}, Outliers: len(s.Spread.Outliers), Left: []LeftOut{}, Histogram: s.asColumns()}
	if s.Spread.N > 1 {
		for _, row := range s.spread()[:2] {
			out.Lines = append(out.Lines, Line{row[0], spaced.Replace(row[1])})
		}
		out.Lines = append(out.Lines, Line{"as measured", "standard deviation " + rough(s.Spread.TotalSD, s.Expected.Unit.String())})
	}
	names, counts := s.binCounts()
	for _, n := range names {
		out.Bins = append(out.Bins, BinCount{n, counts[n]})
	}
	for i := len(s.Spread.Outliers) - 1; i >= 0 && len(out.Left) < mostLeftOut; i-- {
		p := s.Parts[s.Spread.Outliers[i]]
		out.Left = append(out.Left, LeftOut{p.Number, orNull(p.Value), string(s.Spread.Rules[i])})
	}
	return out
}

// Rules are the rules by which parts are left out, by their numbers.
func (s *Sorted) Rules() map[int]batch.Rule {
	out := map[int]batch.Rule{}
	for i, k := range s.Spread.Outliers {
		out[s.Parts[k].Number] = s.Spread.Rules[i]
	}
	return out
}

func (s *Sorted) asColumns() *Histogram {
	middles, counts := s.columnsOf()
	if len(middles) == 0 {
		return nil
	}
	width := math.Max(s.widest(), 1e-4*math.Abs(middles[0])) // of a single column
	if len(middles) > 1 {
		width = middles[1] - middles[0]
	}
	l := s.Expected.Limits()
	return &Histogram{Unit: s.Expected.Unit.String(), Low: middles[0] - width/2, Width: width, Counts: counts,
		Mean: s.Spread.Mean, SD: orNull(s.Spread.SD), LimitLow: orNull(l.Low), LimitHigh: orNull(l.High)}
}

// widest is the largest uncertainty by which the parts that count differ from each other.
func (s *Sorted) widest() float64 {
	rules, most := s.Rules(), 0.0
	for _, p := range s.Parts {
		if rules[p.Number] == "" {
			most = math.Max(most, p.OwnU)
		}
	}
	return most
}

// SortedPart is a part of a run as a page shows it.
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

// TellPart writes a part for a page.
func TellPart(p run.Part, expected parts.Marking, rule batch.Rule) SortedPart {
	out := SortedPart{No: p.Number, Name: p.Name, Time: p.At, Outcome: p.Verdict, Value: "—", Why: spaced.Replace(whyJudged(p, expected)), Bin: p.Bin, Rule: string(rule)}
	if word(p) == unread {
		out.Outcome = "unread"
	}
	if q := (uncertain.Quantity{Value: p.Value, U: p.U, Low: p.Low, High: p.High}); !math.IsNaN(p.Value) {
		h := view.Headline(block.Headline{Main: &block.Figure{Value: block.Of(q, expected.Unit.String())}})
		out.Value, out.Half = h.Value, h.Half
	}
	if p.Bin != "" && p.Chance < 0.95 {
		out.Doubt = percent(p.Chance)
	}
	return out
}

// whyJudged says what decides the verdict on a part: its limits, how far it lies from
// the nearer one, and what the uncertainty makes of that.
func whyJudged(p run.Part, expected parts.Marking) string {
	l, unit := expected.Limits(), expected.Unit
	switch {
	case math.IsNaN(p.Value) && p.Verdict == string(parts.Fail):
		return "it has no such value at all: it is open, shorted, or of another kind"
	case math.IsNaN(p.Value):
		return "it could not be read"
	case p.Verdict == string(parts.Undecided):
		return whyUndecided(p, expected)
	}
	limit, side := l.High, "within"
	if math.Abs(p.Value-l.Low) < math.Abs(p.Value-l.High) {
		limit = l.Low
	}
	if !l.Contain(p.Value) {
		side = "beyond"
	}
	return fmt.Sprintf("%s %s the limit of %s; wrong with a risk of %s", Tie(rough(math.Abs(p.Value-limit), unit.String())), side, Tie(rough3(limit, unit)), Tie(chance(p.Risk)))
}
