package tell

import (
	"fmt"
	"io"
	"math"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/plot"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/lockin/uncertain"
)

// Watched tells what a part did over time.
func Watched(w *result.Watched) []block.Block {
	name := block.Say("part")
	if w.Part != nil {
		name = block.Say("%v", *w.Part)
	}
	head := block.Headline{Title: block.Say("%v at %v, %v", name, block.Hz(w.NominalHz), block.Count(len(w.Points), "reading"))}
	rests := provenance(w.Jig, w.Calibration, w.RestsOn)
	if len(w.Points) == 0 {
		head.Verdict = "no value in any reading"
		return []block.Block{head, rests}
	}
	last := w.Points[len(w.Points)-1]
	if over := last.Time.Sub(w.Points[0].Time); over > 0 {
		head.Title = block.Say("%v in %v", head.Title, span(over))
	}
	head.Main = &block.Figure{Key: "last", Name: w.Quantity + " at the end", Value: block.Of(last.Value, w.Unit)}
	if w.Refused > 0 {
		head.Notes = append(head.Notes, block.Say("%v without a value left out", block.Count(w.Refused, "reading")))
	}
	out := []block.Block{head}
	if d := w.Drift; d == nil {
		out = append(out, block.Paragraphs{Text: []block.Text{block.Say("Too few readings for a drift: three at least are needed")}})
	} else {
		head.Beside = append(head.Beside, block.Figure{Key: "drift", Name: "drift, relative", Value: PPMPerHour(d.Relative)},
			block.Figure{Key: "slope", Name: "drift", Value: block.Of(d.PerHour, w.Unit+"/h")})
		head.Notes = append(head.Notes, driftWords(w.Quantity, d.Relative))
		out[0] = head
	}
	if len(w.Changes) > 0 {
		var list []block.Text
		for _, c := range w.Changes {
			list = append(list, block.Say("%v: %v", c.Time.Format("15:04:05"), c.Finding.Detail))
		}
		list = append(list, block.Say("What was read before and after cannot be compared, and the drift contains the step"))
		out = append(out, block.Paragraphs{Title: "Changes between readings", Text: list})
	}
	return append(out, watchTable(w), overTime(w), rests)
}

// driftWords says whether there is one.
func driftWords(quantity string, perHour uncertain.Quantity) block.Text {
	switch {
	case perHour.Low > 0:
		return block.Say("%v rises: the interval of the drift is above zero", quantity)
	case perHour.High < 0:
		return block.Say("%v falls: the interval of the drift is below zero", quantity)
	}
	return block.Say("No drift seen: the interval contains zero")
}

// PPMPerHour is a relative slope, in per cent from 1 % on.
func PPMPerHour(q uncertain.Quantity) block.Value {
	v := block.Of(q, "ppm/h")
	if math.Max(math.Abs(q.Value), q.High-q.Value) >= 10000 {
		v = block.Of(times(q, 1e-4), "%/h")
	}
	v.Signed = true
	return v
}

// span is a stretch of time in words.
func span(d time.Duration) string {
	switch {
	case d < 2*time.Minute:
		return fmt.Sprintf("%.0f\u00a0s", d.Seconds())
	case d < 2*time.Hour:
		return fmt.Sprintf("%.0f\u00a0min", d.Minutes())
	}
	return fmt.Sprintf("%.1f\u00a0h", d.Hours())
}

// watchTable has a row for each reading, for files.
func watchTable(w *result.Watched) block.Table {
	t := block.Table{Hidden: true, Columns: []block.Column{{Key: "time"}, {Key: "frequency_hz"}, {Key: "quantity"}, {Key: "value", Unit: w.Unit, Kind: block.Quantities}}}
	for _, p := range w.Points {
		t.Rows = append(t.Rows, block.Row{Cells: []block.Value{block.Word(p.Time.Format(time.RFC3339)), block.Hz(w.NominalHz), block.Word(w.Quantity), block.Of(p.Value, w.Unit)}})
	}
	return t
}

// overTime draws the readings, and the line through them with its band.
func overTime(w *result.Watched) block.Chart {
	begun := w.Points[0].Time
	perUnit, unit := time.Minute, "minutes"
	if over := w.Points[len(w.Points)-1].Time.Sub(begun); over > 3*time.Hour {
		perUnit, unit = time.Hour, "hours"
	} else if over < 3*time.Minute {
		perUnit, unit = time.Second, "seconds"
	}
	at := func(t time.Time) float64 { return float64(t.Sub(begun)) / float64(perUnit) }
	var values []float64
	read := plot.Series{Name: "reading", Style: plot.Dots}
	for _, p := range w.Points {
		read.X, values = append(read.X, at(p.Time)), append(values, p.Value.Value)
	}
	read.Y = plot.Exactly(values)
	series := []plot.Series{read}
	if d := w.Drift; d != nil {
		band := plot.Series{Name: "drift, 95 % interval", Style: plot.Area}
		line := plot.Series{Style: plot.Line}
		const points = 50
		end := read.X[len(read.X)-1]
		for i := range points {
			x := end * float64(i) / (points - 1)
			hours := (x - at(d.Middle)) * perUnit.Hours()
			y := d.Value.Value + d.PerHour.Value*hours
			half := math.Hypot(d.Value.High-d.Value.Value, (d.PerHour.High-d.PerHour.Value)*hours)
			band.X, line.X = append(band.X, x), append(line.X, x)
			band.Y = append(band.Y, uncertain.Quantity{Value: y, Low: y - half, High: y + half})
			line.Y = append(line.Y, uncertain.Quantity{Value: y, Low: y, High: y})
		}
		series = []plot.Series{band, read, line}
	}
	name := "part"
	if w.Part != nil {
		name = *w.Part
	}
	chart := &plot.Chart{Title: name, Note: "from " + begun.Format("2006-01-02 15:04"), X: plot.Scale{Name: "time, " + unit},
		Panels: []plot.ChartPanel{{Y: plot.Scale{Name: w.Quantity, Unit: w.Unit}, Series: series}}}
	return block.Chart{Shows: "Readings over time, and the drift with its 95\u00a0% interval.",
		Draw: func(out io.Writer, format plot.Format) error { return plot.DrawChart(out, chart, format) }}
}
