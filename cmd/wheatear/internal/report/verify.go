package report

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"strings"
	"time"

	"example.org/wheatear/lockin"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/jigcheck"
	"example.org/wheatear/lockin/uncertain"
)

// Verification is what verify found out about a jig.
type Verification struct {
	*jigcheck.Report
	Jig     *fixture.Jig
	Card    string // empty where recordings were read
	Date    time.Time
	Earlier *jigcheck.Verified
	File    string // that keeps it; empty where none was written
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
	for _, topic := range v.topics() {
		fmt.Fprintf(&b, "\n%s\n", topic.title)
		columns(&b, topic.rows, padRight)
	}
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
		Wrap(w, "  ", about+": "+sentence(f.Detail))
		Wrap(w, "  → ", sentence(f.Advice))
	}
}

// topic is a table of figures that belong together.
type topic struct {
	title string
	rows  [][]string
}

// titles are the topics in their order, as a person reads them.
var titles = []struct{ topic, title string }{
	{"silence", "Silence"}, {"inputs", "The two inputs"}, {"reference", "Reference"}, {"source", "Source"},
	{"open", "What an open leaves"}, {"short", "What a short leaves"}, {"contact", "Contact"}, {"stray", "Stray"},
	{"levels", "Over level"}, {"drift", "Drift"}, {"stream", "Stream"}, {"check", "Known parts"}, {"earlier", "Against earlier"},
}

// topics makes the tables: figures of one name at several frequencies or inputs share
// a line as far as it reaches.
func (v *Verification) topics() []topic {
	var out []topic
	for _, t := range titles {
		rows := v.rows(t.topic)
		if len(rows) > 0 {
			out = append(out, topic{t.title, append([][]string{{"", "", ""}}, rows...)})
		}
	}
	return out
}

func (v *Verification) rows(name string) [][]string {
	var out [][]string
	for _, f := range v.Figures {
		if f.Topic != name {
			continue
		}
		what := f.Name
		if f.Channel != 0 {
			what += fmt.Sprintf(", input %d", f.Channel)
		}
		at := ""
		if f.FreqHz != 0 {
			at = "at " + nominal(f.FreqHz)
		}
		if f.Of != 0 {
			at = strings.TrimSpace(at + " of " + fmt.Sprint(f.Of))
		}
		out = append(out, []string{what, amount(f.Value, f.Unit), at})
	}
	return out
}

// amount is a figure with its uncertainty.
func amount(q uncertain.Quantity, unit string) string {
	switch {
	case math.IsNaN(q.Value):
		return "more than " + uncertain.Format(q.Low, 0, unit)
	case unit == "dB" || unit == "dBFS":
		return plusMinus(q.Value, q.U) + " " + unit
	case unit == "":
		return bare(q)
	case q.U == 0:
		return uncertain.Format(q.Value, 0, unit)
	}
	return uncertain.Format(q.Value, q.U, unit)
}

// bare is a figure without a unit: in percent or ppm where it is small.
func bare(q uncertain.Quantity) string {
	scale, unit := 1.0, ""
	switch m := math.Max(math.Abs(q.Value), q.U); {
	case q.U == 0:
	case m < 1e-3:
		scale, unit = 1e6, " ppm"
	case m < 0.5:
		scale, unit = 100, " %"
	}
	return plusMinus(q.Value*scale, q.U*scale) + unit
}

// plusMinus writes a value with as many decimals as its uncertainty carries.
func plusMinus(value, u float64) string {
	if u == 0 || math.IsInf(u, 0) || math.IsNaN(u) {
		return unsigned(fmt.Sprintf("%.4g", value))
	}
	decimals := max(0, 1-int(math.Floor(math.Log10(u))))
	decimals = min(decimals, 6)
	return fmt.Sprintf("%s ± %.*f", unsigned(fmt.Sprintf("%.*f", decimals, value)), decimals, u)
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
	Schema   string           `json:"schema"`
	Jig      string           `json:"jig"`
	Card     *string          `json:"card"`
	Date     string           `json:"date"`
	Verdict  string           `json:"verdict"`
	File     *string          `json:"file"`
	Faults   []faultDoc       `json:"faults"`
	Figures  []jigFigureDoc   `json:"figures"`
	Steps    []stepDoc        `json:"steps"`
	Allan    []allanDoc       `json:"allan"`
	Notes    []string         `json:"notes"`
	Findings []lockin.Finding `json:"findings"`
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
		doc.Figures = append(doc.Figures, jigFigureDoc{f.Topic, f.Name, unless(f.Channel), unless(f.FreqHz), amountOf(f.Value, f.Unit), unless(f.Of)})
	}
	for _, l := range v.Looked {
		doc.Steps = append(doc.Steps, stepDoc{string(l.Step), l.Recordings, l.Usable, l.For})
	}
	for _, a := range v.Allan {
		doc.Allan = append(doc.Allan, allanDoc{a.TauS, a.Deviation, a.Low, a.High})
	}
	return writeJSON(w, doc)
}
