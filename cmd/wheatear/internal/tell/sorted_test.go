package tell_test

import (
	"bytes"
	"html"
	"io"
	"math"
	"strings"
	"testing"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/plot"
	tohtml "example.org/wheatear/cmd/wheatear/internal/render/html"
	"example.org/wheatear/cmd/wheatear/internal/render/text"
	"example.org/wheatear/cmd/wheatear/internal/render/typeset"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/run"
	"example.org/wheatear/cmd/wheatear/internal/tell"
	"example.org/wheatear/lockin/batch"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/uncertain"
)

func marking(t *testing.T, text string) parts.Marking {
	t.Helper()
	list, err := parts.Read(text, parts.None)
	if err != nil {
		t.Fatal(err)
	}
	return list[0]
}

var cs = impedance.Element{Kind: impedance.Capacitor, Circuit: impedance.SeriesCircuit}

// farads are parts of a run with one u and the verdict that their values have.
func farads(values ...float64) (list []run.Part) {
	for i, v := range values {
		p := run.Part{Number: i + 1, Name: "c", Value: v, U: 0.1e-9, OwnU: 0.01e-9, Low: v - 0.196e-9, High: v + 0.196e-9, Verdict: "pass", Bin: "1%", Chance: 1,
			EnoughU: math.NaN(), As: cs, Main: uncertain.NormalQuantity(v, 0.1e-9, 0)}
		switch {
		case math.IsNaN(v):
			p.Verdict, p.Bin, p.U, p.OwnU, p.Risk, p.As = "undecided", "", v, v, v, impedance.Element{}
		case v > 105e-9 || v < 95e-9:
			p.Verdict, p.Bin = "fail", batch.Outside
		}
		list = append(list, p)
	}
	return list
}

func sorted(t *testing.T, list []run.Part) *result.Sorted {
	return result.NewSorted(measurement().Document(), marking(t, "100nJ"), "100nJ", "x.csv", nil, list)
}

// aRun is a run of thirteen parts: ten alike, one far off, one failed, one unread.
func aRun(t *testing.T) *result.Sorted {
	return sorted(t, farads(100e-9, 100.4e-9, 99.6e-9, 100.2e-9, 99.8e-9, 100.1e-9, 99.9e-9, 100.3e-9, 99.7e-9, 100e-9, 160e-9, 107e-9, math.NaN()))
}

// A part says which limit decides, and how far it is; one of another kind what it is.
func TestWhyAPartIsJudgedSo(t *testing.T) {
	s := aRun(t)
	undecided := farads(104.9e-9)[0]
	undecided.Verdict, undecided.EnoughU, undecided.U = "undecided", 0.06e-9, 0.2e-9
	nan := math.NaN()
	coil := run.Part{Verdict: "fail", Value: nan, U: nan, OwnU: nan, Risk: 0, As: impedance.Element{Kind: impedance.Inductor, Circuit: impedance.SeriesCircuit}, Main: uncertain.NormalQuantity(1e-3, 1e-6, 0)}
	open := coil
	open.As, open.Main = impedance.Element{Kind: impedance.ModulusZ}, uncertain.Quantity{Value: nan, U: nan, Low: 1e8, High: math.Inf(1)}
	others := sorted(t, []run.Part{undecided, coil, open})
	for _, c := range []struct {
		p                   result.SortedPart
		outcome, value, why string
	}{
		{s.Parts[0], "pass", "100.00 ± 0.20 nF", "5 nF within the limit of 105 nF; wrong with a probability of less than 0.1 %"},
		{s.Parts[11], "fail", "107.00 ± 0.20 nF", "2 nF beyond the limit of 105 nF; wrong with a probability of less than 0.1 %"},
		{s.Parts[12], "unread", "—", "it could not be read"},
		{others.Parts[0], "undecided", "104.90 ± 0.20 nF", "undetermined: 100 pF within the limit of 105 nF, inside the guard band; needs u < 60 pF, has 200 pF"},
		{others.Parts[1], "fail", "1.0000 ± 0.0020 mH", "it is mostly an inductor, and what was expected is none"},
		{others.Parts[2], "fail", "> 100 MΩ", "it is open, or far beyond what was expected"},
	} {
		var set typeset.Setter
		value, why := set.Value(tell.SortedValue(&c.p)), set.Text(tell.WhyJudged(&c.p, s.Limits))
		if got := tell.Outcome(&c.p) + "|" + value + "|" + why; strings.ReplaceAll(got, "\u00a0", " ") != c.outcome+"|"+c.value+"|"+c.why {
			t.Errorf("got %s\nwant %s|%s|%s", got, c.outcome, c.value, c.why)
		}
	}
}

// Mean and spread are of parts of one kind only, whichever are taken back.
func TestNoMeanOverUnlikeParts(t *testing.T) {
	nan := math.NaN()
	list := farads(100e-9, 101e-9)
	list = append(list, run.Part{Number: 3, Verdict: "fail", Value: nan, U: nan, OwnU: nan, As: impedance.Element{Kind: impedance.Resistor, Circuit: impedance.SeriesCircuit}, Main: uncertain.NormalQuantity(1e4, 1, 0)})
	s := sorted(t, list)
	if s.Mean == nil || math.Abs(*s.Mean-100.5e-9) > 0.1e-9 || s.Counting() != 2 || s.Parts[2].Rule != result.OtherKind {
		t.Errorf("mean %v of %d, rule %q", s.Mean, s.Counting(), s.Parts[2].Rule)
	}
	if list := tell.SortedFigures(sorted(t, []run.Part{list[0], list[2]})); len(list) != 0 {
		t.Errorf("figures of a capacitor and a resistor: %+v", list)
	}
}

// The histogram holds every part that counts once, and is no finer than parts can be
// told apart.
func TestHistogramOfARun(t *testing.T) {
	for _, c := range []struct {
		name    string
		values  []float64
		own     float64
		columns int
	}{
		{"apart", []float64{96e-9, 98e-9, 99e-9, 100e-9, 101e-9, 104e-9}, 1e-12, 4},
		{"alike", []float64{100e-9, 100e-9, 100e-9}, 1e-12, 1},
		{"within noise", []float64{99e-9, 100e-9, 101e-9, 100.5e-9}, 1e-9, 2},
		{"none", nil, 0, 0},
	} {
		list := farads(c.values...)
		for i := range list {
			list[i].OwnU = c.own
		}
		s := sorted(t, list)
		h, sum := s.Histogram(), 0
		if h == nil {
			h = &result.Histogram{}
		}
		for _, n := range h.Counts {
			sum += n
		}
		if len(h.Counts) != c.columns || sum != s.Counting() {
			t.Errorf("%s: %d columns with %d parts, want %d with %d", c.name, len(h.Counts), sum, c.columns, s.Counting())
		}
	}
	s := aRun(t)
	h := s.Histogram()
	if end := h.Low + h.Width*float64(len(h.Counts)); math.Abs(h.Low-99.6e-9) > 1e-14 || math.Abs(end-100.4e-9) > 1e-14 {
		t.Errorf("columns from %g to %g, want those of the parts that count", h.Low, end)
	}
	var svg bytes.Buffer
	if err := chart(t, s)(&svg, plot.SVG); err != nil || !strings.Contains(svg.String(), ">limits<") {
		t.Errorf("no limits: %v", err)
	}
	var hairs bytes.Buffer
	if err := chart(t, sorted(t, farads(100e-9, 100.001e-9, 100.009e-9)))(&hairs, plot.SVG); err != nil || strings.Contains(hairs.String(), ">limits<") {
		t.Errorf("limits beside hairs: %v", err)
	}
}

// What a run says fits a terminal, and every verdict can be written large on it.
func TestSortedOnATerminal(t *testing.T) {
	var b bytes.Buffer
	if err := text.Write(&b, tell.Sorted(aRun(t)), text.Look{}); err != nil {
		t.Fatal(err)
	}
	for _, verdict := range []string{"pass", "fail", "undecided", "unread"} {
		large := text.Large(verdict)
		if n := strings.Count(large, "\n"); n != 7 || !strings.Contains(large, "█") {
			t.Errorf("%s: %d lines", verdict, n)
		}
		b.WriteString(large)
	}
	for _, line := range strings.Split(b.String(), "\n") {
		if n := len([]rune(line)); n > 80 {
			t.Errorf("%d columns: %s", n, line)
		}
	}
	if want := "5 parts: 3 passed, 1 failed, 1 undecided"; !strings.Contains((&typeset.Setter{}).Text(tell.Tally(&result.Sorted{Parts: make([]result.SortedPart, 5), Passed: 3, Failed: 1, Undecided: 1})), want) {
		t.Error("no tally")
	}
}

// rowOf is what the table of parts in a report says of the first part.
func rowOf(t *testing.T, s *result.Sorted) string {
	t.Helper()
	var paper bytes.Buffer
	if err := tohtml.Write(&paper, tell.Sorted(s), noon); err != nil {
		t.Fatal(err)
	}
	_, rows, _ := strings.Cut(paper.String(), "<th scope=\"col\">reads as</th>")
	cells := strings.Split(after(rows, `<th scope="row">1</th>`, "</tr>"), "</td>")
	if len(cells) < 3 {
		t.Fatalf("no row in\n%s", rows)
	}
	return html.UnescapeString(strings.TrimPrefix(cells[2], "<td>"))
}

func chart(t *testing.T, s *result.Sorted) func(w io.Writer, format plot.Format) error {
	t.Helper()
	return block.ChartOf(tell.Sorted(s)).Draw
}
