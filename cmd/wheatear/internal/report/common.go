package report

import (
	"io"
	"regexp"
	"strconv"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/render/text"
	"example.org/wheatear/cmd/wheatear/internal/render/view"
	"example.org/wheatear/cmd/wheatear/internal/tell"
	"example.org/wheatear/lockin/finding"
)

// What documents still use that are told here and not yet by package tell. It goes with
// the last of them.

type (
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

// negative finds a hyphen that is a sign: before a number and not within a word.
var negative = regexp.MustCompile(`(^|[\s(±])-(\d)`)

// minus sets the signs of the numbers in a sentence.
func minus(text string) string { return negative.ReplaceAllString(text, "$1\u2212$2") }

// round3 keeps three digits: levels are settings, not results.
func round3(v float64) float64 {
	r, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 3, 64), 64)
	if err != nil {
		return v
	}
	return r
}

// unless is a pointer to a value, nil for the zero value.
func unless[T comparable](v T) *T {
	var zero T
	if v == zero {
		return nil
	}
	return &v
}
