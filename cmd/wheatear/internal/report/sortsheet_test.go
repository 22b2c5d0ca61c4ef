package report

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"

	"example.org/wheatear/cmd/wheatear/internal/plot"
	"example.org/wheatear/cmd/wheatear/internal/run"
	"example.org/wheatear/lockin/batch"
	"example.org/wheatear/lockin/fixture"
)

// aRun is a run of thirteen parts: ten alike, one far off, one failed, one unread.
func aRun(t *testing.T) *Sorted {
	t.Helper()
	var list []run.Part
	for i, v := range []float64{100, 100.4, 99.6, 100.2, 99.8, 100.1, 99.9, 100.3, 99.7, 100, 160, 107, math.NaN()} {
		p := run.Part{Number: i + 1, Name: "c", Value: v * 1e-9, U: 0.1e-9, OwnU: 0.01e-9, Low: (v - 0.2) * 1e-9, High: (v + 0.2) * 1e-9, Verdict: "pass", Bin: "1%", Chance: 1, EnoughU: math.NaN()}
		switch {
		case math.IsNaN(v):
			p.Verdict, p.Bin, p.U, p.OwnU, p.Risk = "undecided", "", v, v, v
		case v > 105:
			p.Verdict, p.Bin = "fail", batch.Outside
		}
		list = append(list, p)
	}
	return NewSorted(&Measurement{Jig: &fixture.Jig{}}, marking(t, "100nJ"), "100nJ", "x.csv", list)
}

// A page is told counts, columns with limits, and by which rule parts are left out; no
// number in it is one that JSON does not know.
func TestSortSheet(t *testing.T) {
	s := aRun(t)
	sheet := s.Sheet()
	h, sum := sheet.Histogram, 0
	for _, n := range h.Counts {
		sum += n
	}
	if sum != 10 || h.Unit != "F" || h.LimitLow == nil || math.Abs(*h.LimitLow-95e-9) > 1e-20 || math.Abs(*h.LimitHigh-105e-9) > 1e-20 || math.Abs(h.Mean-100e-9) > 1e-13 {
		t.Errorf("histogram %+v", h)
	}
	if end := h.Low + h.Width*float64(len(h.Counts)); math.Abs(h.Low-99.6e-9) > 1e-14 || math.Abs(end-100.4e-9) > 1e-14 {
		t.Errorf("columns from %g to %g, want those of the parts that count", h.Low, end)
	}
	if got, want := fmt.Sprint(sheet.Left[0].Rule, sheet.Left[0].Value == nil, sheet.Left[1].No, sheet.Left[1].Rule, sheet.Left[2].No, sheet.Outliers), fmt.Sprint(batch.Unread, true, 12, batch.Far, 11, 3); got != want {
		t.Errorf("left out %s, want %s", got, want)
	}
	if fmt.Sprint(sheet.Bins) != "[{1% 10} {outside 2}]" || sheet.Lines[0].Name != "mean" || !strings.Contains(sheet.Lines[1].Text, "standard deviation") || len(sheet.Lines) != 3 {
		t.Errorf("bins %v, lines %+v", sheet.Bins, sheet.Lines)
	}
	for _, list := range [][]run.Part{s.Parts, s.Parts[:1], s.Parts[12:], nil} {
		text, err := json.Marshal(NewSorted(&Measurement{Jig: &fixture.Jig{}}, s.Expected, "100nJ", "x.csv", list).Sheet())
		if err != nil || strings.ContainsAny(string(text), "\x1f") {
			t.Errorf("%d parts: %v, %s", len(list), err, text)
		}
	}
}

// A part says which limit decides, and how far it is.
func TestTellPart(t *testing.T) {
	s := aRun(t)
	nan := math.NaN()
	for _, c := range []struct {
		p              run.Part
		outcome, value string
		why            string
	}{
		{s.Parts[0], "pass", "100.00 nF ± 0.20 nF", "5 nF within the limit of 105 nF; wrong with a risk of less than 0.1 %"},
		{s.Parts[11], "fail", "107.00 nF ± 0.20 nF", "2 nF beyond the limit of 105 nF; wrong with a risk of less than 0.1 %"},
		{s.Parts[12], "unread", "—", "it could not be read"},
		{run.Part{Verdict: "fail", Value: nan, U: nan}, "fail", "—", "it has no such value at all: it is open, shorted, or of another kind"},
		{run.Part{Verdict: "undecided", Value: 104.9e-9, U: 0.2e-9, Low: 104.5e-9, High: 105.3e-9, EnoughU: 0.06e-9}, "undecided", "104.90 nF ± 0.40 nF",
			"cannot be told: 100 pF within the limit of 105 nF, inside the guard band; needs u < 60 pF, has 200 pF"},
	} {
		got := TellPart(c.p, s.Expected, batch.Far)
		value := got.Value
		if got.Half != "" {
			value += " " + got.Half
		}
		value = strings.ReplaceAll(value, "\u00a0", " ")
		if why := strings.ReplaceAll(got.Why, "\u00a0", " "); got.Outcome != c.outcome || value != c.value || why != c.why || got.Rule != string(batch.Far) {
			t.Errorf("%+v, want %s, %s, %q", got, c.outcome, c.value, c.why)
		}
	}
	if p := TellPart(run.Part{Bin: "1%", Chance: 0.61, Value: 1, Verdict: "pass"}, s.Expected, ""); p.Doubt != "61 %" {
		t.Errorf("a bin that is not sure: %+v", p)
	}
}

// Limits are drawn beside the columns, unless these would be hairs between them; the
// columns stand on zero all the same.
func TestSortedChartHasLimits(t *testing.T) {
	s := aRun(t)
	var svg strings.Builder
	if err := plot.DrawChart(&svg, s.Chart(), plot.SVG); err != nil || !strings.Contains(svg.String(), ">limits<") {
		t.Errorf("no limits: %v", err)
	}
	for i := range s.Parts[:10] {
		s.Parts[i].Value = 100e-9 + 1e-12*float64(i)
	}
	far := NewSorted(&Measurement{Jig: &fixture.Jig{}}, s.Expected, "100nJ", "x.csv", s.Parts[:10])
	if lines := far.limitLines([]float64{100e-9, 100.009e-9}, 3); len(lines) != 0 {
		t.Errorf("%d limits beside hairs", len(lines))
	}
	var paper strings.Builder
	if err := plot.DrawChart(&paper, far.Chart(), plot.SVG); err != nil {
		t.Error(err)
	}
}
