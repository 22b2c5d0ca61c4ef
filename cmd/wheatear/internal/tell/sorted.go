package tell

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/plot"
	"example.org/wheatear/cmd/wheatear/internal/render/typeset"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/lockin/uncertain"
)

// Sorted tells a run of parts.
func Sorted(s *result.Sorted) []block.Block {
	head := block.Headline{Title: block.Say("%v for %v: %v passed, %v failed, %v undecided", block.Count(len(s.Parts), "part"), s.Expected, s.Passed, s.Failed, s.Undecided)}
	if figures := SortedFigures(s); len(figures) > 0 {
		head.Main, head.Beside = &figures[0], figures[1:]
	}
	if len(s.Outliers) > 0 {
		head.Notes = append(head.Notes, block.Say("Left out of mean and spread, since unread, of another kind, far from the others, or failed and not the tail of the rest: number %v", numbers(s.Outliers)))
	}
	out := []block.Block{head}
	if h := s.Histogram(); h != nil && s.Counting() > 1 {
		c := drawing("How many parts have which value.", sortedChart(s, h))
		plain := letters(s, h)
		c.Plain = &plain
		out = append(out, c)
	}
	if len(s.Bins) > 0 {
		t := block.Table{Title: "Bins", Columns: []block.Column{{Name: "bin"}, {Name: "parts"}}}
		for _, b := range s.Bins {
			t.Rows = append(t.Rows, block.Row{Cells: []block.Value{block.Word(b.Name), block.Number(float64(b.Count), "", 9)}})
		}
		out = append(out, t)
	}
	p := provenance(s.Jig, s.Calibration, s.RestsOn)
	p.Short = block.Say("%v; kept in %v", p.Short, s.File)
	p.List = append(p.List, block.Figure{Key: "file", Name: "file of the run", Value: block.Word(s.File)})
	return append(out, sortedParts(s), Findings(s.Findings), p)
}

// SortedFigures are mean and spread of a run; none of fewer than two parts.
func SortedFigures(s *result.Sorted) []block.Figure {
	if s.Counting() < 2 || s.Mean == nil || s.Spread == nil || s.SpreadU == nil {
		return nil
	}
	unit, mean := s.Unit(), *s.Mean
	list := []block.Figure{{Key: "mean", Name: "mean", Value: block.Of(uncertain.NormalQuantity(mean, block.OrNaN(s.MeanU), 0), unit), Remark: block.Say("of %v", block.Count(s.Counting(), "part"))}}
	sd, u := *s.Spread, *s.SpreadU
	f := block.Figure{Key: "spread", Name: "spread"}
	if sd < u {
		most := sd + 2*u
		f.Value = block.Value{Text: block.Say("none seen: the measurement alone explains it; less than %v, that is %v", block.Rough(most, unit), block.Rough(most/mean, block.Share))}
	} else {
		f.Value = block.Value{Text: block.Say("standard deviation %v, that is %v; the measurement's share of %v of the variance is taken out",
			block.Of(uncertain.NormalQuantity(sd, u, 0), unit), block.Rough(sd/mean, block.Share), share(block.OrNaN(s.Share)))}
	}
	return append(list, f, block.Figure{Key: "spread_measured", Name: "as measured", Value: block.Value{Text: block.Say("standard deviation %v", block.Rough(block.OrNaN(s.Measured), unit))}})
}

// Tally says in a line how a run goes.
func Tally(s *result.Sorted) block.Text {
	text := block.Say("%v: %v passed, %v failed", block.Count(len(s.Parts), "part"), s.Passed, s.Failed)
	if s.Undecided > 0 {
		text = block.Say("%v, %v undecided", text, s.Undecided)
	}
	if list := SortedFigures(s); len(list) > 0 {
		text = block.Say("%v; mean %v, spread %v", text, list[0].Value, block.Rough(*s.Spread / *s.Mean, block.Share))
	}
	return text
}

// numbers lists numbers of parts, of many the first few.
func numbers(list []int) string {
	const most = 30
	var words []string
	for _, n := range list[:min(most, len(list))] {
		words = append(words, strconv.Itoa(n))
	}
	if left := len(list) - most; left > 0 {
		words = append(words, "and "+strconv.Itoa(left)+" more")
	}
	return strings.Join(words, ", ")
}

// sortedParts are the parts of a run, a row each.
func sortedParts(s *result.Sorted) block.Table {
	t := block.Table{Title: "Parts", Full: true, Columns: []block.Column{{Name: "number"}, {Name: "part"}, {Name: "verdict"}, {Name: "reads as"}, {Name: "risk"}, {Name: "bin"}}}
	for i := range s.Parts {
		p := &s.Parts[i]
		row := []block.Value{block.Word(strconv.Itoa(p.Number)), block.Word(p.Name), block.Word(Outcome(p)), SortedValue(p), {Quantity: uncertain.Absent()}, {Quantity: uncertain.Absent()}}
		if p.Risk != nil {
			row[4] = block.Value{Text: probability(*p.Risk)}
		}
		if p.Bin != nil {
			row[5] = block.Word(*p.Bin)
		}
		t.Rows = append(t.Rows, block.Row{Cells: row})
	}
	return t
}

// Outcome is the verdict on a part, or that it was not read.
func Outcome(p *result.SortedPart) string {
	if p.Unread() {
		return "unread"
	}
	return p.Verdict
}

// SortedValue is what a part reads as.
func SortedValue(p *result.SortedPart) block.Value {
	_, q, unit := p.What()
	return block.Of(q, unit)
}

// SortedBin is the bin of a part, and how sure that is where it is not.
func SortedBin(p *result.SortedPart) (bin string, doubt block.Text) {
	const sure = 0.95
	if p.Bin == nil {
		return "", nil
	}
	if p.Chance != nil && *p.Chance < sure {
		doubt = block.Say("%v", share(*p.Chance))
	}
	return *p.Bin, doubt
}

// WhyJudged says what decides the verdict on a part: its limits, how far it lies from the
// nearer one, and what the uncertainty makes of that.
func WhyJudged(p *result.SortedPart, limits *result.Limits) block.Text {
	switch e, q, _ := p.What(); {
	case p.Rule == result.OtherKind:
		return block.Say("it is mostly %v, and what was expected is none", article(string(e.Kind)))
	case p.Value == nil && p.Verdict == "fail" && math.IsInf(q.High, 1) && !q.IsAbsent():
		return block.Say("it is open, or far beyond what was expected")
	case p.Value == nil && p.Verdict == "fail" && !q.IsAbsent():
		return block.Say("it is shorted, or far below what was expected")
	case p.Value == nil && p.Verdict == "fail":
		return block.Say("it has no such value at all: it is open, shorted, or of another kind")
	case p.Value == nil:
		return block.Say("it could not be read")
	case limits == nil:
		return nil
	}
	limit, side := limits.High, "within"
	if math.Abs(*p.Value-limits.Low) < math.Abs(*p.Value-limits.High) {
		limit = limits.Low
	}
	if *p.Value < limits.Low || *p.Value > limits.High {
		side = "beyond"
	}
	text := block.Say("%v %v the limit of %v", block.Rough(math.Abs(*p.Value-limit), p.Unit), side, block.Number(limit, p.Unit, 6))
	switch {
	case p.Verdict != "undecided" && p.Risk != nil:
		return block.Say("%v; wrong with a probability of %v", text, probability(*p.Risk))
	case p.Verdict != "undecided":
		return text
	}
	text = block.Say("undetermined: %v, inside the guard band", text)
	if p.EnoughU != nil && p.U != nil {
		text = block.Say("%v; needs u\u00a0<\u00a0%v, has %v", text, block.Rough(*p.EnoughU, p.Unit), block.Rough(*p.U, p.Unit))
	}
	return text
}

func article(noun string) string {
	if noun != "" && strings.ContainsRune("aeiou", rune(noun[0])) {
		return "an " + noun
	}
	return "a " + noun
}

// letters is the histogram for terminals.
func letters(s *result.Sorted, h *result.Histogram) block.Table {
	const wide = 48
	most := max(1, slices.Max(h.Counts))
	t := block.Table{Columns: []block.Column{{Name: "value"}, {Name: "parts"}, {Name: " "}}}
	var set typeset.Setter
	for k, n := range h.Counts {
		middle, _ := set.Apart(block.Of(uncertain.NormalQuantity(h.Middle(k), h.Width/2, 0), s.Unit())) // to about a tenth of the width of a column
		t.Rows = append(t.Rows, block.Row{Cells: []block.Value{block.Word(middle), block.Number(float64(n), "", 9), block.Word(strings.Repeat("█", n*wide/most) + " ")}})
	}
	return t
}

// sortedChart is the histogram as it is drawn.
func sortedChart(s *result.Sorted, h *result.Histogram) *plot.Chart {
	bars := plot.Series{Name: "parts", Style: plot.Bars}
	for k, n := range h.Counts {
		bars.X = append(bars.X, h.Middle(k))
		bars.Y = append(bars.Y, plot.Exactly([]float64{float64(n)})...)
	}
	panel := plot.ChartPanel{Y: plot.Scale{Name: "number of parts"}, Series: append(limitLines(s, bars.X, max(1, slices.Max(h.Counts))), bars)}
	var set typeset.Setter
	return &plot.Chart{Title: set.Text(block.Say("%v for %v", block.Count(len(s.Parts), "part"), s.Expected)), Note: set.Text(provenance(s.Jig, s.Calibration, s.RestsOn).Short),
		X: plot.Scale{Name: "value", Unit: s.Unit()}, Panels: []plot.ChartPanel{panel}}
}

// limitLines are the limits beside columns as high as most, but where they are so far off
// that the columns would be hairs between them.
func limitLines(s *result.Sorted, middles []float64, most int) (lines []plot.Series) {
	const far = 25 // times the width of all columns
	if len(middles) < 2 || s.Limits == nil {
		return nil
	}
	low, high := middles[0], middles[len(middles)-1]
	for _, x := range []float64{s.Limits.Low, s.Limits.High} {
		if span := math.Max(high, x) - math.Min(low, x); span <= far*(high-low) && x > 0 {
			lines = append(lines, plot.Series{Name: "limits", X: []float64{x, x}, Y: plot.Exactly([]float64{0, float64(most)}), Style: plot.Dashed})
		}
	}
	return lines
}
