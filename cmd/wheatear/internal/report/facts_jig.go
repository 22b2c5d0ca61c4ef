package report

import (
	"encoding/json"
	"math"
	"strconv"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/jigcheck"
	"example.org/wheatear/lockin/uncertain"
)

func (f *facts) verify(result json.RawMessage) {
	doc := decode[verifyDoc](result)
	v := doc.verification()
	f.section("")
	f.fact("verdict", doc.Verdict)
	f.fact("jig", doc.Jig)
	f.fact("card", or(doc.Card, ""))
	f.fact("figures kept in", or(doc.File, ""))
	if len(doc.Faults) == 0 && doc.Verdict == "pass" {
		f.say("No fault was found in what was looked at")
	}
	if len(doc.Faults) > 0 {
		var faults []finding.Finding
		for _, x := range doc.Faults {
			faults = append(faults, finding.Finding{Code: finding.Code(x.Code), Severity: finding.Severity(x.Severity),
				Channel: zero(x.Channel), FreqHz: zero(x.FreqHz), Detail: x.Detail, Advice: x.Advice})
		}
		f.section("Faults").Findings = Tell(faults)
	}
	for _, t := range titles {
		f.topic(v, t.topic, t.title)
	}
	f.looked(doc)
	f.findings(doc.Findings)
}

// topic tells the figures of one topic.
func (f *facts) topic(v *Verification, topic, title string) {
	lines, tables := v.sort(topic)
	f.section(title)
	for _, x := range lines {
		var remark []string
		if x.Of > 0 {
			remark = []string{"from " + strconv.Itoa(x.Of)}
		}
		f.fact(label(x), minus(amount(x.Value, x.Unit)), remark...)
	}
	if len(tables) > 0 {
		f.table(signs(v.grid(tables)))
	}
}

// signs sets the signs of figures in a table.
func signs(rows [][]string) [][]string {
	for _, row := range rows {
		for i := range row {
			row[i] = minus(row[i])
		}
	}
	return rows
}

// looked says what was left out, and what is to be known.
func (f *facts) looked(doc *verifyDoc) {
	f.section("Not looked at")
	for _, s := range doc.Steps {
		switch {
		case s.Recordings == 0:
			f.fact(s.Step, s.Tells)
		case s.Usable < s.Recordings:
			f.fact(s.Step, strconv.Itoa(s.Recordings-s.Usable)+" of "+plural(s.Recordings, "recording")+" cannot be used")
		}
	}
	f.section("To know")
	for _, n := range doc.Notes {
		f.say(n)
	}
}

// verification is what verify found out, as far as its figures go.
func (doc *verifyDoc) verification() *Verification {
	v := &Verification{Report: &jigcheck.Report{}}
	for _, x := range doc.Figures {
		figure := jigcheck.Figure{Topic: x.Topic, Name: x.Name, Channel: zero(x.Channel), FreqHz: zero(x.FreqHz),
			Value: x.quantity(), Unit: x.Unit, Of: zero(x.Readings)}
		if x.Played != nil {
			figure.Played = math.Pow(10, *x.Played/20)
		}
		v.Figures = append(v.Figures, figure)
	}
	return v
}

// quantity is what amountOf made a document of.
func (a amountDoc) quantity() uncertain.Quantity {
	if a.Value == nil && a.U == nil && a.Low == nil && a.High == nil && a.Unit == "dBFS" {
		return uncertain.Quantity{Value: math.Inf(-1)} // of nothing at all
	}
	q := uncertain.Quantity{Value: math.NaN(), U: math.NaN(), Low: math.Inf(-1), High: math.Inf(1)}
	for _, x := range []struct {
		from *float64
		to   *float64
	}{{a.Value, &q.Value}, {a.U, &q.U}, {a.Low, &q.Low}, {a.High, &q.High}} {
		if x.from != nil {
			*x.to = *x.from
		}
	}
	return q
}

// zero is the value behind a pointer, or else zero.
func zero[T any](p *T) (v T) {
	if p != nil {
		v = *p
	}
	return v
}
