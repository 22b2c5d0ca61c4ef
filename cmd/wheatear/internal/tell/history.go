package tell

import (
	"math"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/lockin/uncertain"
)

// NotebookHistory tells the readings of a part over time and their trend.
func NotebookHistory(h *result.NotebookHistory) []block.Block { return History(h, 0) }

// History is the same with the last rows of the readings; 0 for all.
func History(h *result.NotebookHistory, rows int) []block.Block {
	n := len(h.Points)
	if n == 0 || h.FreqHz == nil || h.Quantity == nil || h.Unit == nil {
		return sentence(block.Say("There is no trusted reading of %v", h.Label))
	}
	head := block.Headline{Title: block.Say("%v: %v at\u00a0%v, %v, %v to %v", h.Label, *h.Quantity, block.Hz(*h.FreqHz), block.Count(n, "reading"),
		made(h.Points[0].Time), made(h.Points[n-1].Time))}
	t := block.Table{Columns: []block.Column{{Name: "made"}, {Name: "reads as"}, {Name: "entry"}}}
	shown := h.Points
	if rows > 0 && n > rows {
		shown = shown[n-rows:]
		t.Title = "The newest of them"
	}
	for i := range shown {
		p := &shown[i]
		t.Rows = append(t.Rows, block.Row{Cells: []block.Value{made(p.Time), block.Of(p.What(), *h.Unit), block.Number(float64(p.ID), "", 15)}})
	}
	after := block.Paragraphs{Text: []block.Text{Trend(h)}}
	if h.Others > 0 {
		after.Text = append(after.Text, block.Say("%v of it at other frequencies or of other quantities; --at and --quantity choose", block.Count(h.Others, "reading")))
	}
	return []block.Block{head, t, after}
}

// sureness of a change, by what the trend says it is.
var sureness = map[string]string{"changes": "", "very likely changes": "very likely ", "may change: look again": "perhaps "}

// Trend says whether a part changes, and how fast.
func Trend(h *result.NotebookHistory) block.Text {
	t := h.Trend
	if t == nil {
		return block.Say("Too few readings for a trend: it takes three of different times")
	}
	seconds, per := pace(h.Points[len(h.Points)-1].Time.Sub(h.Points[0].Time))
	relative := func(v float64) block.Value { return block.Rough(seconds*v/math.Abs(t.Value), block.Share) }
	slope := t.Slope()
	least := slope.High - slope.Value
	sure, changes := sureness[t.Significance]
	if !changes {
		return block.Say("No significant change: one of more than %v %v, %v, would most likely show", block.Rough(seconds*least, *h.Unit), per, relative(least))
	}
	verb := "rises"
	if slope.Value < 0 {
		verb = "falls"
	}
	size := math.Abs(seconds * slope.Value)
	pace := uncertain.Quantity{Value: size, U: seconds * slope.U, Low: size - seconds*least, High: size + seconds*least}
	return block.Say("It %v%v by %v %v, %v; p-value %v: the probability that a part without change shows as much", sure, verb, block.Of(pace, *h.Unit), per,
		relative(math.Abs(slope.Value)), pValue(&t.Chance))
}

// pace is the stretch of time by which people state a change over so long.
func pace(over time.Duration) (seconds float64, per string) {
	const day = 24 * time.Hour
	switch {
	case over < 3*day:
		return time.Hour.Seconds(), "per hour"
	case over < 60*day:
		return day.Seconds(), "per day"
	}
	return 365.25 * day.Seconds(), "per year"
}
