package report

import (
	"fmt"
	"io"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/paper"
	"example.org/wheatear/cmd/wheatear/internal/render/text"
	"example.org/wheatear/cmd/wheatear/internal/render/view"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/tell"
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/parts"
)

// What documents still use that are told here and not yet by package tell. It goes with
// the last of them.

type (
	levelDoc = result.Level
	// Told is a finding in words.
	Told = view.Told
	// Section and Fact are what a page shows of a document.
	Section = view.Section
	Fact    = view.Fact
)

// Line is a named figure.
type Line struct {
	Name string `json:"name"`
	Text string `json:"text"`
}

// Findings tells a person what the records showed.
func Findings(w io.Writer, findings []finding.Finding) {
	_ = text.Write(w, []block.Block{tell.Findings(findings)}, text.Look{}) // into memory
}

// Tell puts findings into words, gravest first, each kind once.
func Tell(findings []finding.Finding) []Told { return view.Findings(tell.Findings(findings)) }

func sentence(text string) string {
	if text == "" || strings.HasSuffix(text, ".") {
		return text
	}
	return text + "."
}

// nothingToDo is an advice that need not be given.
const nothingToDo = "nothing to do"

func made(now time.Time) string {
	return "Written by wheatear, " + now.Format("2006-01-02 15:04") + "."
}

// heading says which jig and which calibration.
func (m *Measurement) heading(w io.Writer) { Wrap(w, "", m.correction()) }

// conditions are findings, jig, calibration and recordings.
func (m *Measurement) conditions() []paper.Section {
	var out []paper.Section
	if len(m.Findings) > 0 {
		out = append(out, paper.Section{Heading: "Findings", Findings: m.Findings})
	}
	table := func(rows ...[]string) *paper.Table { return &paper.Table{Head: []string{"", ""}, Rows: rows} }
	out = append(out, paper.Section{Heading: "Jig", Table: table([]string{"name", m.Jig.Name},
		[]string{"inputs carry", m.Jig.Channels[0].String() + ", " + m.Jig.Channels[1].String()},
		[]string{"reference", fmt.Sprintf("%s ± %.3g %%", rough(m.Jig.ReferenceOhm, "Ω"), 100*m.Jig.ReferenceTolerance)})})
	if c := m.basis().Calibrated; c != nil {
		out = append(out, paper.Section{Heading: "Calibration", Table: table([]string{"file", m.Calibration}, []string{"date", c.Date.Format("2006-01-02 15:04")},
			[]string{"card", c.Card}, []string{"frequencies", fmt.Sprint(c.Frequencies)}, []string{"standards", strings.Join(c.Standards, ", ")})})
	}
	if len(m.Files) > 0 {
		out = append(out, paper.Section{Heading: "Recordings", Lines: m.Files})
	}
	return out
}

// neat writes figures as a page sets them: with a minus sign, and degrees close to
// their number.
func neat(text string) string {
	return strings.NewReplacer("-", "\u2212", " °", "°").Replace(text)
}

// negative finds a hyphen that is a sign: before a number and not within a word.
var negative = regexp.MustCompile(`(^|[\s(±])-(\d)`)

// minus sets the signs of the numbers in a sentence.
func minus(text string) string { return negative.ReplaceAllString(text, "$1\u2212$2") }

// percent writes a share to the nearest percent.
func percent(part float64) string {
	if part < 0.005 {
		return "< 1 %"
	}
	return strconv.FormatFloat(100*part, 'f', 0, 64) + " %"
}

// chance writes a probability in per cent, with no more digits than 10,000 draws
// tell, and none of certainty.
func chance(p float64) string {
	switch {
	case p < 0.001:
		return "less than 0.1 %"
	case p > 0.999:
		return "more than 99.9 %"
	}
	return strconv.FormatFloat(100*p, 'f', 1, 64) + " %"
}

// rough3 writes a limit: a number that was computed from a nominal value, to six
// digits at the most.
func rough3(v float64, unit parts.Unit) string {
	six, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 6, 64), 64)
	if err != nil {
		return "—"
	}
	return parts.Words(six, unit)
}

// columns writes rows with aligned columns, as many as fit. A row with fewer
// cells than the first has a last one that runs on. The first column is
// aligned by align.
func columns(w io.Writer, rows [][]string, align func(text string, n int) string) {
	const gap = 2
	widths := make([]int, len(rows[0]))
	for _, row := range rows {
		for i, cell := range row {
			if len(row) == len(rows[0]) || i < len(row)-1 {
				widths[i] = max(widths[i], width(cell))
			}
		}
	}
	for i := range widths {
		if !slices.ContainsFunc(rows[1:], func(row []string) bool { return i < len(row) && row[i] != "" }) {
			rows[0][i], widths[i] = "", 0
		}
	}
	shown, total := 0, gap
	for shown < len(widths) && total+widths[shown] <= Columns {
		total += widths[shown] + gap
		shown++
	}
	for _, row := range rows {
		line := ""
		for i, cell := range row {
			switch {
			case i >= shown, i > 0 && widths[i] == 0 && len(row) == len(widths):
			case i == 0:
				line += "  " + align(cell, widths[0])
			default:
				line += "  " + padRight(cell, widths[i])
			}
		}
		fmt.Fprintln(w, strings.TrimRight(line, " "))
	}
}

// round3 keeps three digits: levels are settings, not results.
func round3(v float64) float64 {
	r, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 3, 64), 64)
	if err != nil {
		return v
	}
	return r
}
