package report

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/plot"
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/jigcheck"
	"example.org/wheatear/lockin/spectrum"
	"example.org/wheatear/lockin/uncertain"
)

// Verification is what verify found out about a jig.
type Verification struct {
	*jigcheck.Report
	Jig     *fixture.Jig
	Card    string // empty where recordings were read
	Date    time.Time
	Earlier *jigcheck.Verified
	File    string      // that keeps it; empty where none was written
	Reach   *plot.Chart // what such a jig can read; nil where it was not asked for
}

// Verdict is pass where no fault was found.
func (v *Verification) Verdict() string {
	if len(v.Faults) > 0 {
		return "fail"
	}
	return "pass"
}

// Verify writes it for people.
func Verify(w io.Writer, v *Verification) error {
	var b bytes.Buffer
	head := v.Jig.Name + ", verified " + v.Date.Format("2006-01-02")
	if v.Card != "" {
		head += ", " + v.Card
	}
	Wrap(&b, "", head)
	fmt.Fprintln(&b)
	v.outcome(&b)
	v.topics(&b)
	v.notLooked(&b)
	if len(v.Findings) > 0 {
		fmt.Fprintln(&b, "\nThe recordings themselves")
		Findings(&b, v.Findings)
	}
	if v.File != "" {
		fmt.Fprintln(&b)
		Wrap(&b, "", fmt.Sprintf("Kept in %s: calibrate, measure and sweep take contact, stray and drift from there where the jig file does not state them.", v.File))
	}
	_, err := w.Write(b.Bytes())
	return err
}

// outcome names the faults first.
func (v *Verification) outcome(w io.Writer) {
	if len(v.Faults) == 0 {
		Wrap(w, "", "No fault was found in what was looked at.")
		return
	}
	Wrap(w, "", plural(len(v.Faults), "fault")+":")
	for _, f := range v.Faults {
		fmt.Fprintln(w)
		about := string(f.Code)
		if f.FreqHz != 0 {
			about += " " + Tie("at "+nominal(f.FreqHz))
		}
		Wrap(w, "  ", about+": "+sentence(tieFigures(f.Detail)))
		Wrap(w, "  → ", sentence(f.Advice))
	}
}

// withUnit is a number with its unit behind it.
var withUnit = regexp.MustCompile(`([0-9]) (%:?|dB|dBFS|[kMGmµnp]?(?:Ω|Hz|H|F|V|A|S|s)|ppm|samples)([^a-zA-Z]|$)`)

// tieFigures keeps numbers and units of a sentence on one line.
func tieFigures(text string) string { return withUnit.ReplaceAllString(text, "$1"+tied+"$2$3") }

// titles are the topics in their order, as a person reads them.
var titles = []struct{ topic, title string }{
	{"silence", "Silence"}, {"inputs", "The two inputs"}, {"reference", "Reference"}, {"source", "Source"},
	{"open", "What an open leaves"}, {"short", "What a short leaves"}, {"contact", "Contact"}, {"stray", "Stray"},
	{"levels", "Over level"}, {"drift", "Drift"}, {"stream", "Stream"}, {"check", "Known parts"}, {"earlier", "Against earlier"},
}

// topics writes the figures, those that belong together under one title: a line for each,
// but a table for what was measured at several frequencies or levels.
func (v *Verification) topics(w io.Writer) {
	for _, t := range titles {
		lines, tables := v.sort(t.topic)
		if len(lines)+len(tables) == 0 {
			continue
		}
		fmt.Fprintf(w, "\n%s\n", t.title)
		for _, f := range lines {
			fmt.Fprintln(w, strings.TrimRight("  "+padRight(label(f), nameColumns)+"  "+amount(f.Value, f.Unit)+count(f), " "))
		}
		if len(tables) > 0 {
			columns(w, v.grid(tables), padLeft)
		}
	}
}

// nameColumns is the width of the names of single figures.
const nameColumns = 44

// sort parts the figures of a topic: single ones, and those of which there are several.
func (v *Verification) sort(topic string) (lines, tables []jigcheck.Figure) {
	times := map[string]int{}
	key := func(f jigcheck.Figure) string { return fmt.Sprint(f.Name, f.Channel) }
	for _, f := range v.Figures {
		if f.Topic == topic {
			times[key(f)]++
		}
	}
	for _, f := range v.Figures {
		switch {
		case f.Topic != topic:
		case times[key(f)] > 1:
			tables = append(tables, f)
		default:
			lines = append(lines, f)
		}
	}
	first := map[string]int{}
	for i, f := range lines {
		if _, seen := first[f.Name]; !seen {
			first[f.Name] = i
		}
	}
	slices.SortStableFunc(lines, func(a, b jigcheck.Figure) int { return first[a.Name] - first[b.Name] })
	return lines, tables
}

// grid has a row for each frequency or level and a column for each figure; the first row
// names them.
func (v *Verification) grid(figures []jigcheck.Figure) [][]string {
	head, rows := []string{""}, [][]string(nil)
	column, row := map[string]int{}, map[string]int{}
	for _, f := range figures {
		name := label(f)
		if _, ok := column[name]; !ok {
			column[name] = len(head)
			head = append(head, name)
		}
		at := nominal(f.FreqHz)
		if f.Played > 0 {
			at = fmt.Sprintf("%.1f dBFS", spectrum.AmplitudeDB(f.Played))
		}
		if _, ok := row[at]; !ok {
			row[at] = len(rows)
			rows = append(rows, []string{at})
		}
		r := &rows[row[at]]
		for len(*r) <= column[name] {
			*r = append(*r, "")
		}
		(*r)[column[name]] = amount(f.Value, f.Unit)
	}
	for i := range rows {
		for len(rows[i]) < len(head) {
			rows[i] = append(rows[i], "")
		}
	}
	return append([][]string{head}, rows...)
}

// label is the name of a figure with its input.
func label(f jigcheck.Figure) string {
	if f.Channel != 0 && !strings.Contains(f.Name, "input") {
		return fmt.Sprintf("%s, input %d", f.Name, f.Channel)
	}
	return f.Name
}

// count says of how many readings a figure is made.
func count(f jigcheck.Figure) string {
	if f.Of == 0 {
		return ""
	}
	return fmt.Sprintf(", from %d", f.Of)
}

// amount is a figure with its uncertainty.
func amount(q uncertain.Quantity, unit string) string {
	switch {
	case silent(q, unit):
		return "none seen"
	case math.IsNaN(q.Value):
		return "more than " + uncertain.Format(q.Low, 0, unit)
	case unit == "dB" || unit == "dBFS":
		return unsigned(strconv.FormatFloat(q.Value, 'f', decimals(q.U, 2), 64)) + " " + unit
	case unit == "samples" || unit == "ppm":
		return plusMinus(q.Value, q.U, 3) + " " + unit
	case unit == "":
		return bare(q)
	}
	return uncertain.Format(q.Value, q.U, unit)
}

// silent reports whether a level is that of nothing at all, for which decibels have no
// number.
func silent(q uncertain.Quantity, unit string) bool {
	const nothing = -299
	return unit == "dBFS" && q.Value < nothing
}

// bare is a figure without a unit: in percent or ppm where it is small.
func bare(q uncertain.Quantity) string {
	switch m := math.Max(math.Abs(q.Value), q.U); {
	case q.U == 0:
		return strconv.FormatFloat(q.Value, 'g', 2, 64)
	case m < 1e-3:
		return plusMinus(q.Value*1e6, q.U*1e6, 1) + " ppm"
	}
	return plusMinus(q.Value*100, q.U*100, 3) + " %"
}

// decimals is how many of them an uncertainty carries, and no more than enough.
func decimals(u float64, enough int) int {
	if !(u > 0) || math.IsInf(u, 0) {
		return enough
	}
	return max(0, min(enough, 1-int(math.Floor(math.Log10(u)))))
}

// plusMinus writes a value and its uncertainty with so many decimals at most.
func plusMinus(value, u float64, enough int) string {
	n := decimals(u, enough)
	u = math.Max(u, math.Pow(10, -float64(n))) // never less than what is shown
	return unsigned(strconv.FormatFloat(value, 'f', n, 64)) + " ± " + strconv.FormatFloat(u, 'f', n, 64)
}

// notLooked says what is left open.
func (v *Verification) notLooked(w io.Writer) {
	var lines []string
	for _, l := range v.Looked {
		switch {
		case l.Recordings == 0:
			lines = append(lines, fmt.Sprintf("%s: %s.", l.Step, l.For))
		case l.Usable < l.Recordings:
			lines = append(lines, fmt.Sprintf("%s: %d of %d recordings cannot be used.", l.Step, l.Recordings-l.Usable, l.Recordings))
		}
	}
	if len(lines) > 0 {
		fmt.Fprintln(w, "\nNot looked at")
		for _, l := range lines {
			Wrap(w, "  ", l)
		}
	}
	if len(v.Notes) > 0 {
		fmt.Fprintln(w, "\nTo know")
		for _, n := range v.Notes {
			Wrap(w, "  - ", n)
		}
	}
}

// verifyDoc is the schema wheatear.verify/1.
type verifyDoc struct {
	Schema   string            `json:"schema"`
	Jig      string            `json:"jig"`
	Card     *string           `json:"card"`
	Date     string            `json:"date"`
	Verdict  string            `json:"verdict"`
	File     *string           `json:"file"`
	Faults   []faultDoc        `json:"faults"`
	Figures  []jigFigureDoc    `json:"figures"`
	Steps    []stepDoc         `json:"steps"`
	Allan    []allanDoc        `json:"allan"`
	Notes    []string          `json:"notes"`
	Findings []finding.Finding `json:"findings"`
}

type amountDoc struct {
	Value *float64 `json:"value"`
	U     *float64 `json:"u"`
	Low   *float64 `json:"low"`
	High  *float64 `json:"high"`
	Unit  string   `json:"unit"`
}

type faultDoc struct {
	Code     string   `json:"code"`
	Severity string   `json:"severity"`
	Channel  *int     `json:"channel"`
	FreqHz   *float64 `json:"frequency_hz"`
	amountDoc
	Limit  *float64 `json:"limit"`
	Detail string   `json:"detail"`
	Advice string   `json:"advice"`
}

type jigFigureDoc struct {
	Topic   string   `json:"topic"`
	Name    string   `json:"name"`
	Channel *int     `json:"channel"`
	FreqHz  *float64 `json:"frequency_hz"`
	Played  *float64 `json:"played_dbfs"`
	amountDoc
	Readings *int `json:"readings"`
}

type stepDoc struct {
	Step       string `json:"step"`
	Recordings int    `json:"recordings"`
	Usable     int    `json:"usable"`
	Tells      string `json:"tells"`
}

type allanDoc struct {
	TauS      float64 `json:"tau_s"`
	Deviation float64 `json:"deviation"`
	Low       float64 `json:"low"`
	High      float64 `json:"high"`
}

func amountOf(q uncertain.Quantity, unit string) amountDoc {
	if silent(q, unit) {
		return amountDoc{Unit: unit}
	}
	return amountDoc{orNull(q.Value), orNull(q.U), orNull(q.Low), orNull(q.High), unit}
}

// unless is a pointer to a value, nil for the zero value.
func unless[T comparable](v T) *T {
	var zero T
	if v == zero {
		return nil
	}
	return &v
}

// VerifyJSON writes it for programs.
func VerifyJSON(w io.Writer, v *Verification) error {
	doc := verifyDoc{Schema: "wheatear.verify/1", Jig: v.Jig.Name, Card: unless(v.Card), Date: v.Date.Format(time.RFC3339), Verdict: v.Verdict(), File: unless(v.File),
		Faults: []faultDoc{}, Figures: []jigFigureDoc{}, Steps: []stepDoc{}, Allan: []allanDoc{}, Notes: listed(v.Notes), Findings: listed(v.Findings)}
	for _, f := range v.Faults {
		doc.Faults = append(doc.Faults, faultDoc{string(f.Code), string(f.Severity), unless(f.Channel), unless(f.FreqHz), amountOf(f.Value, f.Unit), orNull(f.Limit), f.Detail, f.Advice})
	}
	for _, f := range v.Figures {
		doc.Figures = append(doc.Figures, jigFigureDoc{f.Topic, f.Name, unless(f.Channel), unless(f.FreqHz), orNull(spectrum.AmplitudeDB(f.Played)), amountOf(f.Value, f.Unit), unless(f.Of)})
	}
	for _, l := range v.Looked {
		doc.Steps = append(doc.Steps, stepDoc{string(l.Step), l.Recordings, l.Usable, l.For})
	}
	for _, a := range v.Allan {
		doc.Allan = append(doc.Allan, allanDoc{a.TauS, a.Deviation, a.Low, a.High})
	}
	return writeJSON(w, doc)
}
