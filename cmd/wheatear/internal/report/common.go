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
	"example.org/wheatear/cmd/wheatear/internal/render/text"
	"example.org/wheatear/cmd/wheatear/internal/render/view"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/tell"
	"example.org/wheatear/lockin/finding"
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

// withUnit is a number with its unit behind it.
var withUnit = regexp.MustCompile(`([0-9]) (%:?|dB|dBFS|[kMGmµnp]?(?:Ω|Hz|H|F|V|A|S|s)|ppm|samples)([^a-zA-Z]|$)`)

// tieFigures keeps numbers and units of a sentence on one line.
func tieFigures(text string) string { return withUnit.ReplaceAllString(text, "$1"+tied+"$2$3") }

// nameColumns is the width of the names of single figures.
const nameColumns = 44

// unless is a pointer to a value, nil for the zero value.
func unless[T comparable](v T) *T {
	var zero T
	if v == zero {
		return nil
	}
	return &v
}
