package report

import (
	"bytes"
	"fmt"
	"io"
	"math"
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
	Text   string // what is expected
	File   string
	Parts  []run.Part
	Passed int
	Failed int
	Spread batch.Spread
}

// NewSorted counts a run.
func NewSorted(m *Measurement, text, file string, list []run.Part) *Sorted {
	s := &Sorted{Measurement: m, Text: text, File: file, Parts: list}
	var values []batch.Measured
	for _, p := range list {
		values = append(values, batch.Measured{Value: p.Value, OwnU: p.OwnU})
		switch p.Verdict {
		case string(parts.Pass):
			s.Passed++
		case string(parts.Fail):
			s.Failed++
		}
	}
	s.Spread = batch.SpreadOf(values, parts.Likeliest(m.Expected, text).Limits())
	return s
}

// words of verdicts, for a look from two steps away.
var largeVerdicts = map[string]string{string(parts.Pass): "P A S S", string(parts.Fail): "F A I L", string(parts.Undecided): "UNDECIDED"}

// SortLine shows one part of a run.
func SortLine(w io.Writer, p run.Part, expected []parts.Marking) {
	text := "—"
	if !math.IsNaN(p.Value) && !math.IsInf(p.Value, 0) {
		text = uncertain.Format(p.Value, p.U, p.Unit)
	}
	line := fmt.Sprintf("%4d  %s  %s", p.Number, padRight(largeVerdicts[p.Verdict], 9), padRight(text, 24))
	if p.Bin != "" {
		line += "  bin " + p.Bin
		if p.Chance < 0.95 {
			line += fmt.Sprintf(" (%.0f %%)", 100*p.Chance)
		}
	}
	if p.Verdict == string(parts.Undecided) && !math.IsNaN(p.Risk) {
		line += fmt.Sprintf("  too near the limit: risk %.0f %%", 100*p.Risk)
	}
	fmt.Fprintln(w, strings.TrimRight(line, " "))
}

// WriteSorted writes the run for people.
func WriteSorted(w io.Writer, s *Sorted) error {
	var b bytes.Buffer
	s.heading(&b)
	Wrap(&b, "", fmt.Sprintf("%s for %s: %d passed, %d failed, %d undecided. Written to %s.", plural(len(s.Parts), "part"), s.Text,
		s.Passed, s.Failed, len(s.Parts)-s.Passed-s.Failed, s.File))
	if n := s.Spread.N; n > 1 {
		fmt.Fprintln(&b)
		s.spread(&b)
		fmt.Fprintln(&b)
		s.histogram(&b)
	}
	s.binned(&b)
	if len(s.Findings) > 0 {
		fmt.Fprintln(&b)
		Findings(&b, s.Findings)
	}
	_, err := w.Write(b.Bytes())
	return err
}

// spread says how the parts differ.
func (s *Sorted) spread(b *bytes.Buffer) {
	sp, unit := s.Spread, s.Parts[0].Unit
	Wrap(b, "  "+padRight("mean", 12), uncertain.Format(sp.Mean, sp.TotalSD/math.Sqrt(float64(sp.N)), unit)+", of "+plural(sp.N, "part"))
	Wrap(b, "  "+padRight("spread", 12), fmt.Sprintf("%s, that is %.2g %% (standard deviation; the measurement's share of %s of the variance is taken out)",
		Tie(uncertain.Format(sp.SD, sp.SDU, unit)), 100*sp.SD/sp.Mean, percent(sp.Share)))
	if len(sp.Outliers) > 0 {
		text := ""
		for i, k := range sp.Outliers {
			if i > 0 {
				text += ", "
			}
			text += fmt.Sprintf("%d", s.Parts[k].Number)
		}
		Wrap(b, "  "+padRight("left out", 12), "failed, unread or far from the others: number "+text)
	}
}

// columnsOf sorts the counting parts into columns of equal width.
func (s *Sorted) columnsOf() (middles []float64, counts []int) {
	left := map[int]bool{}
	for _, k := range s.Spread.Outliers {
		left[k] = true
	}
	low, high := math.Inf(1), math.Inf(-1)
	for i, p := range s.Parts {
		if !left[i] {
			low, high = math.Min(low, p.Value), math.Max(high, p.Value)
		}
	}
	n := max(3, min(12, int(math.Sqrt(float64(s.Spread.N)))+2))
	width := (high - low) / float64(n)
	if math.IsInf(low, 0) {
		return nil, nil
	}
	if !(width > 0) { // a single part, or all alike
		low, width = low*0.99, low*0.02/float64(n)
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
	for k, m := range middles {
		step := middles[min(1, len(middles)-1)] - middles[0]
		fmt.Fprintf(b, "  %s  %s %d\n", padLeft(valueTo(m, step, s.Parts[0].Unit), 12), strings.Repeat("█", counts[k]*wide/most), counts[k])
	}
}

// valueTo writes a value to about a tenth of a step.
func valueTo(v, step float64, unit string) string {
	d := math.Pow(10, math.Floor(math.Log10(step))-0)
	text := uncertain.Format(v, d, unit)
	value, _, _ := strings.Cut(text, " ± ")
	return value
}

// binned counts the bins.
func (s *Sorted) binned(b *bytes.Buffer) {
	count := map[string]int{}
	var names []string
	for _, p := range s.Parts {
		if p.Bin == "" {
			continue
		}
		if count[p.Bin] == 0 {
			names = append(names, p.Bin)
		}
		count[p.Bin]++
	}
	if len(names) == 0 {
		return
	}
	rows := [][]string{{"bin", "parts"}}
	for _, n := range names {
		rows = append(rows, []string{n, fmt.Sprint(count[n])})
	}
	fmt.Fprintln(b)
	columns(b, rows, padLeft)
}

// Chart is the histogram as it is drawn.
func (s *Sorted) Chart() *plot.Chart {
	middles, counts := s.columnsOf()
	bars := plot.Series{Name: "parts", X: middles, Style: plot.Bars}
	for _, c := range counts {
		bars.Y = append(bars.Y, plot.Exactly([]float64{float64(c)})...)
	}
	return &plot.Chart{Title: plural(len(s.Parts), "part") + " for " + s.Text, Note: s.correction(), X: plot.Scale{Name: "value", Unit: s.Parts[0].Unit},
		Panels: []plot.ChartPanel{{Y: plot.Scale{Name: "number of parts"}, Series: []plot.Series{bars}}}}
}

// sortedDoc is the schema wheatear.sort/1.
type sortedDoc struct {
	Schema      string          `json:"schema"`
	Jig         string          `json:"jig"`
	Calibration *string         `json:"calibration"`
	Expected    string          `json:"expected"`
	File        string          `json:"file"`
	Parts       []sortedPartDoc `json:"parts"`
	Passed      int             `json:"passed"`
	Failed      int             `json:"failed"`
	Undecided   int             `json:"undecided"`
	Mean        *float64        `json:"mean"`
	Spread      *float64        `json:"spread"`
	SpreadU     *float64        `json:"spread_u"`
	Measured    *float64        `json:"spread_measured"`
	Share       *float64        `json:"measurement_share"`
	Outliers    []int           `json:"outliers"`
}

type sortedPartDoc struct {
	Number  int      `json:"number"`
	Name    string   `json:"name"`
	Value   *float64 `json:"value"`
	U       *float64 `json:"u"`
	Low     *float64 `json:"low"`
	High    *float64 `json:"high"`
	Unit    string   `json:"unit"`
	Verdict string   `json:"verdict"`
	Risk    *float64 `json:"risk"`
	Bin     *string  `json:"bin"`
	Chance  *float64 `json:"bin_chance"`
}

// SortedJSON writes the run for programs.
func SortedJSON(w io.Writer, s *Sorted) error {
	doc := sortedDoc{Schema: "wheatear.sort/1", Jig: s.Jig.Name, Expected: s.Text, File: s.File, Parts: []sortedPartDoc{}, Passed: s.Passed, Failed: s.Failed,
		Undecided: len(s.Parts) - s.Passed - s.Failed, Mean: orNull(s.Spread.Mean), Spread: orNull(s.Spread.SD), SpreadU: orNull(s.Spread.SDU),
		Measured: orNull(s.Spread.TotalSD), Share: orNull(s.Spread.Share), Outliers: []int{}}
	if s.Calibration != "" {
		doc.Calibration = &s.Calibration
	}
	for _, k := range s.Spread.Outliers {
		doc.Outliers = append(doc.Outliers, s.Parts[k].Number)
	}
	for _, p := range s.Parts {
		d := sortedPartDoc{p.Number, p.Name, orNull(p.Value), orNull(p.U), orNull(p.Low), orNull(p.High), p.Unit, p.Verdict, orNull(p.Risk), nil, orNull(p.Chance)}
		if p.Bin != "" {
			d.Bin = &p.Bin
		}
		doc.Parts = append(doc.Parts, d)
	}
	return writeJSON(w, doc)
}
