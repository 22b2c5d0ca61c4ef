package report

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"example.org/wheatear/cmd/wheatear/internal/plot"
	"example.org/wheatear/cmd/wheatear/internal/run"
	"example.org/wheatear/lockin/batch"
	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/uncertain"
)

// Sorted is a run of parts.
type Sorted struct {
	*Measurement
	Expected parts.Marking // of every part
	Text     string        // the same as it was asked for
	File     string
	Bins     *batch.Bins // nil for none
	Parts    []run.Part
	Passed   int
	Failed   int
	Unread   int // of those that are undecided
	Spread   batch.Spread
	MeanU    float64 // standard uncertainty of the mean, with what all readings share
}

// NewSorted counts a run.
func NewSorted(m *Measurement, expected parts.Marking, text, file string, list []run.Part) *Sorted {
	s := &Sorted{Measurement: m, Expected: expected, Text: text, File: file, Parts: list}
	var values []batch.Measured
	for _, p := range list {
		values = append(values, batch.Measured{Value: p.Value, OwnU: p.OwnU})
		switch {
		case p.Verdict == string(parts.Pass):
			s.Passed++
		case p.Verdict == string(parts.Fail):
			s.Failed++
		case math.IsNaN(p.Value):
			s.Unread++
		}
	}
	s.Spread = batch.SpreadOf(values, expected.Limits())
	s.MeanU = s.meanU()
	return s
}

// meanU adds what the readings share to what is left of their scatter.
func (s *Sorted) meanU() float64 {
	shared, rules := 0.0, s.Rules()
	for _, p := range s.Parts {
		if rules[p.Number] == "" {
			shared += (p.U*p.U - p.OwnU*p.OwnU) / float64(s.Spread.N)
		}
	}
	return math.Sqrt(s.Spread.TotalSD*s.Spread.TotalSD/float64(s.Spread.N) + shared)
}

// WriteSorted writes the run for people.
func WriteSorted(w io.Writer, s *Sorted) error {
	var b bytes.Buffer
	s.heading(&b)
	Wrap(&b, "", fmt.Sprintf("%s for %s: %s. Written to %s.", plural(len(s.Parts), "part"), s.Text, s.counts(), s.File))
	if n := s.Spread.N; n > 1 {
		fmt.Fprintln(&b)
		for _, row := range s.spread() {
			Wrap(&b, "  "+padRight(row[0], 12), row[1])
		}
		fmt.Fprintln(&b)
		s.histogram(&b)
	}
	if rows := s.binned(); len(rows) > 0 {
		fmt.Fprintln(&b)
		columns(&b, append([][]string{{"bin", "parts"}}, rows...), padLeft)
	}
	if len(s.Findings) > 0 {
		fmt.Fprintln(&b)
		Findings(&b, s.Findings)
	}
	_, err := w.Write(b.Bytes())
	return err
}

// counts says how many there are of each verdict.
func (s *Sorted) counts() string {
	return fmt.Sprintf("%d passed, %d failed, %d undecided", s.Passed, s.Failed, len(s.Parts)-s.Passed-s.Failed)
}

// SortTally writes in a line how a run goes.
func SortTally(w io.Writer, s *Sorted) {
	text := fmt.Sprintf("%s: %d passed, %d failed", plural(len(s.Parts), "part"), s.Passed, s.Failed)
	if n := len(s.Parts) - s.Passed - s.Failed; n > 0 {
		text += fmt.Sprintf(", %d undecided", n)
	}
	if s.Spread.N > 1 {
		text += fmt.Sprintf("; mean %s, spread %.2g %%", valueTo(s.Spread.Mean, s.MeanU, s.Expected.Unit.String()), 100*s.Spread.SD/s.Spread.Mean)
	}
	Wrap(w, "      ", text)
}

// spread says how the parts differ, a line for each of its figures.
func (s *Sorted) spread() [][]string {
	sp, unit := s.Spread, s.Expected.Unit.String()
	rows := [][]string{{"mean", uncertain.Format(sp.Mean, s.MeanU, unit) + ", of " + plural(sp.N, "part")}}
	text := fmt.Sprintf("%s, that is %.2g %% (standard deviation; the measurement's share of %s of the variance is taken out)",
		Tie(uncertain.Format(sp.SD, sp.SDU, unit)), 100*sp.SD/sp.Mean, percent(sp.Share))
	if sp.SD < sp.SDU {
		text = fmt.Sprintf("none seen: the measurement alone explains it; less than %s, that is %.2g %%", Tie(rough(sp.SD+2*sp.SDU, unit)), 100*(sp.SD+2*sp.SDU)/sp.Mean)
	}
	rows = append(rows, []string{"spread", text})
	if len(sp.Outliers) > 0 {
		text = ""
		for i, k := range sp.Outliers {
			if i > 0 {
				text += ", "
			}
			text += fmt.Sprintf("%d", s.Parts[k].Number)
		}
		rows = append(rows, []string{"left out", "unread, far from the others, or failed and not the tail of the rest: number " + text})
	}
	return rows
}

// columnsOf sorts the counting parts into columns of equal width.
func (s *Sorted) columnsOf() (middles []float64, counts []int) {
	left := map[int]bool{}
	for _, k := range s.Spread.Outliers {
		left[k] = true
	}
	low, high, own := math.Inf(1), math.Inf(-1), 0.0
	for i, p := range s.Parts {
		if !left[i] {
			low, high, own = math.Min(low, p.Value), math.Max(high, p.Value), math.Max(own, p.OwnU)
		}
	}
	if math.IsInf(low, 0) {
		return nil, nil
	}
	n := max(3, min(12, int(math.Sqrt(float64(s.Spread.N)))+2))
	width := (high - low) / float64(n)
	if least := math.Max(own, 1e-4*math.Abs(low)); width < least { // no finer than parts can be told apart
		n = max(1, int(math.Ceil((high-low)/least-1e-9)))
		low, width = (low+high-float64(n)*least)/2, least
	}
	counts = make([]int, n)
	for i, p := range s.Parts {
		if !left[i] {
			counts[min(n-1, int((p.Value-low)/width))]++
		}
	}
	for k := range n {
		middles = append(middles, low+(float64(k)+0.5)*width)
	}
	return middles, counts
}

// histogram draws it in letters.
func (s *Sorted) histogram(b *bytes.Buffer) {
	middles, counts := s.columnsOf()
	most := 1
	for _, c := range counts {
		most = max(most, c)
	}
	const wide = 48
	step := 1e-3 * math.Abs(s.Spread.Mean)
	if len(middles) > 1 {
		step = middles[1] - middles[0]
	}
	for k, m := range middles {
		fmt.Fprintf(b, "  %s  %s %d\n", padLeft(valueTo(m, step, s.Expected.Unit.String()), 12), strings.Repeat("█", counts[k]*wide/most), counts[k])
	}
}

// valueTo writes a value to about a tenth of a step.
func valueTo(v, step float64, unit string) string {
	d := math.Pow(10, math.Floor(math.Log10(step)))
	text := uncertain.Format(v, d, unit)
	value, _, _ := strings.Cut(text, " ± ")
	return value
}

// binCounts counts the parts of each bin; the names are in their order.
func (s *Sorted) binCounts() (names []string, counts map[string]int) {
	counts = map[string]int{}
	for _, p := range s.Parts {
		if p.Bin == "" {
			continue
		}
		if counts[p.Bin] == 0 {
			names = append(names, p.Bin)
		}
		counts[p.Bin]++
	}
	if s.Bins != nil {
		s.Bins.Sort(names)
	}
	return names, counts
}

// binned are the bins, a row each.
func (s *Sorted) binned() (rows [][]string) {
	names, counts := s.binCounts()
	for _, n := range names {
		rows = append(rows, []string{n, fmt.Sprint(counts[n])})
	}
	return rows
}

// Chart is the histogram as it is drawn.
func (s *Sorted) Chart() *plot.Chart {
	middles, counts := s.columnsOf()
	bars := plot.Series{Name: "parts", X: middles, Style: plot.Bars}
	for _, c := range counts {
		bars.Y = append(bars.Y, plot.Exactly([]float64{float64(c)})...)
	}
	panel := plot.ChartPanel{Y: plot.Scale{Name: "number of parts"}, Series: append(s.limitLines(middles, slices.Max(append(counts, 1))), bars)}
	return &plot.Chart{Title: plural(len(s.Parts), "part") + " for " + s.Text, Note: s.correction(), X: plot.Scale{Name: "value", Unit: s.Expected.Unit.String()}, Panels: []plot.ChartPanel{panel}}
}

// limitLines are the limits beside columns as high as most, but where they are so far off
// that the columns would be hairs between them.
func (s *Sorted) limitLines(middles []float64, most int) (lines []plot.Series) {
	const far = 25 // times the width of all columns
	if len(middles) < 2 {
		return nil
	}
	low, high := middles[0], middles[len(middles)-1]
	l := s.Expected.Limits()
	for _, x := range []float64{l.Low, l.High} {
		if span := math.Max(high, x) - math.Min(low, x); span <= far*(high-low) && x > 0 {
			lines = append(lines, plot.Series{Name: "limits", X: []float64{x, x}, Y: plot.Exactly([]float64{0, float64(most)}), Style: plot.Dashed})
		}
	}
	return lines
}
