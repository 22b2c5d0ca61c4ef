package result

import (
	"math"
	"time"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/jigcheck"
	"example.org/wheatear/lockin/spectrum"
	"example.org/wheatear/lockin/uncertain"
)

// Verification is the schema wheatear.verify/1: whether a jig and its card can be
// believed.
type Verification struct {
	Schema   string            `json:"schema"`
	Jig      string            `json:"jig"`     // name
	Card     *string           `json:"card"`    // null where recordings were read
	Date     string            `json:"date"`    // RFC 3339
	Verdict  string            `json:"verdict"` // pass or fail
	File     *string           `json:"file"`    // where the figures are kept; null where none was written
	Faults   []Fault           `json:"faults"`
	Figures  []JigFigure       `json:"figures"`
	Steps    []Step            `json:"steps"`
	Allan    []AllanPoint      `json:"allan"` // how far averaging helps
	Notes    []string          `json:"notes"`
	Findings []finding.Finding `json:"findings"`
	RestsOn  *Basis            `json:"rests_on,omitempty"`
	Earlier  []EarlierCheck    `json:"earlier,omitempty"` // newest first
}

// VerificationSchema is what a Verification says it is.
const VerificationSchema = "wheatear.verify/1"

// Amount is a value in a unit; all null for the level of nothing at all.
type Amount struct {
	Value *float64 `json:"value"`
	U     *float64 `json:"u"`
	Low   *float64 `json:"low"`
	High  *float64 `json:"high"`
	Unit  string   `json:"unit"`
}

// Quantity is the same as a quantity; its value is -Inf for the level of nothing.
func (a Amount) Quantity() uncertain.Quantity {
	if a.Value == nil && a.U == nil && a.Low == nil && a.High == nil && a.Unit == "dBFS" {
		return uncertain.Quantity{Value: math.Inf(-1), Low: math.Inf(-1), High: math.Inf(-1)}
	}
	q := uncertain.Quantity{Value: orNaN(a.Value), U: orNaN(a.U), Low: math.Inf(-1), High: math.Inf(1)}
	if a.Low != nil {
		q.Low = *a.Low
	}
	if a.High != nil {
		q.High = *a.High
	}
	return q
}

func amountOf(q uncertain.Quantity, unit string) Amount {
	const nothing = -299 // dB, for which there is no number
	if unit == "dBFS" && q.Value < nothing {
		return Amount{Unit: unit}
	}
	return Amount{orNull(q.Value), orNull(q.U), orNull(q.Low), orNull(q.High), unit}
}

// Fault is a figure beyond its limit.
type Fault struct {
	Code     finding.Code     `json:"code"`
	Severity finding.Severity `json:"severity"`
	Channel  *int             `json:"channel"`
	FreqHz   *float64         `json:"frequency_hz"`
	Amount
	Limit  *float64 `json:"limit"` // that it exceeds
	Detail string   `json:"detail"`
	Advice string   `json:"advice"`
}

// JigFigure is one that was measured.
type JigFigure struct {
	Topic   string   `json:"topic"`
	Name    string   `json:"name"`
	Channel *int     `json:"channel"`
	FreqHz  *float64 `json:"frequency_hz"`
	Played  *float64 `json:"played_dbfs"` // where it depends on level
	Amount
	Readings *int `json:"readings"` // from how many, where that matters
}

// Step is what became of one.
type Step struct {
	Step       jigcheck.Step `json:"step"`
	Recordings int           `json:"recordings"`
	Usable     int           `json:"usable"`
	Tells      string        `json:"tells"` // what it is for
}

// AllanPoint is the Allan deviation at one averaging time.
type AllanPoint struct {
	TauS      float64 `json:"tau_s"`
	Deviation float64 `json:"deviation"`
	Low       float64 `json:"low"`
	High      float64 `json:"high"`
}

// EarlierCheck is a verification before this one; 0 is what was not measured.
type EarlierCheck struct {
	Date       string     `json:"date"`
	NoiseRMS   [2]float64 `json:"noise_rms"` // re full scale, of both inputs
	HumRMS     [2]float64 `json:"hum_rms"`
	ContactOhm float64    `json:"contact_ohm"`
	Drift      float64    `json:"drift"`
	Faults     []string   `json:"faults"`
}

// NewVerification is the document of an examination. Card and file are empty where
// recordings were read and where nothing was written.
func NewVerification(r *jigcheck.Report, jig *fixture.Jig, card, file string, date time.Time, earlier *jigcheck.Verified) *Verification {
	v := &Verification{Schema: VerificationSchema, Jig: jig.Name, Card: unless(card), Date: date.Format(time.RFC3339), Verdict: "pass", File: unless(file),
		Faults: []Fault{}, Figures: []JigFigure{}, Steps: []Step{}, Allan: []AllanPoint{}, Notes: listed(r.Notes), Findings: listed(r.Findings),
		RestsOn: &Basis{ReferenceOhm: jig.ReferenceOhm, ReferenceTolerance: jig.ReferenceTolerance, Recordings: []string{}}}
	for _, c := range jig.Channels {
		v.RestsOn.Channels = append(v.RestsOn.Channels, c.String())
	}
	for _, f := range r.Faults {
		v.Verdict = "fail"
		v.Faults = append(v.Faults, Fault{f.Code, f.Severity, unless(f.Channel), unless(f.FreqHz), amountOf(f.Value, f.Unit), orNull(f.Limit), f.Detail, f.Advice})
	}
	for _, f := range r.Figures {
		v.Figures = append(v.Figures, JigFigure{f.Topic, f.Name, unless(f.Channel), unless(f.FreqHz), orNull(spectrum.AmplitudeDB(f.Played)), amountOf(f.Value, f.Unit), unless(f.Of)})
	}
	for _, l := range r.Looked {
		v.Steps = append(v.Steps, Step{l.Step, l.Recordings, l.Usable, l.For})
	}
	for _, a := range r.Allan {
		v.Allan = append(v.Allan, AllanPoint{a.TauS, a.Deviation, a.Low, a.High})
	}
	if earlier != nil {
		for _, e := range append([]jigcheck.Verified{*earlier}, earlier.Earlier...) {
			v.Earlier = append(v.Earlier, EarlierCheck{e.Date, e.NoiseRMS, e.HumRMS, e.ContactOhm, e.Drift, listed(e.Faults)})
		}
	}
	return v
}

// unless is a pointer to a value, nil for the zero value.
func unless[T comparable](v T) *T {
	var zero T
	if v == zero {
		return nil
	}
	return &v
}
