// Package result has the documents of the program: one type for each schema, and
// nothing else says what their keys are. A document is made once, of what the library
// found; it is printed, kept in the notebook and read back as the same type, without
// loss. Keys are only ever added, so that documents of older versions still read.
package result

import (
	"encoding/json"
	"io"
	"math"
	"time"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/predict"
	"example.org/wheatear/lockin/uncertain"
)

// Measurement is the schema wheatear.measure/1: readings of one part.
type Measurement struct {
	Schema      string            `json:"schema"`
	Jig         string            `json:"jig"`              // name
	Calibration *string           `json:"calibration"`      // file; null for none
	As          string            `json:"as,omitempty"`     // what the part was to be read as; empty for what it mostly is
	Chosen      *Chosen           `json:"chosen,omitempty"` // how the frequency was chosen; nil where it was named
	Readings    []Reading         `json:"readings"`
	Findings    []finding.Finding `json:"findings"`
	RestsOn     *Basis            `json:"rests_on,omitempty"` // nil in documents of older versions
}

// MeasurementSchema is what a Measurement says it is.
const MeasurementSchema = "wheatear.measure/1"

// Chosen says for which part a frequency was chosen, and who names it for such a part.
type Chosen struct {
	Kind     string   `json:"kind"` // resistor, capacitor or inductor
	Value    float64  `json:"value"`
	Unit     string   `json:"unit"`
	MeantHz  float64  `json:"frequency_meant_hz"`  // as it is named; the reading may lie a little aside
	NamedBy  string   `json:"named_by"`            // a standard, or common practice; empty for nobody
	BeyondHz *float64 `json:"beyond_hz,omitempty"` // what a standard names instead and the card does not play
	BeyondBy string   `json:"beyond_named_by,omitempty"`
}

// NewChosen is the document of a choice; nil of none.
func NewChosen(s *predict.Suited) *Chosen {
	if s == nil {
		return nil
	}
	unit := map[impedance.Kind]string{impedance.Capacitor: "F", impedance.Inductor: "H"}[s.Part.Kind]
	if unit == "" {
		unit = "Ω"
	}
	c := &Chosen{Kind: string(s.Part.Kind), Value: s.Part.Value, Unit: unit, MeantHz: s.MeantHz, NamedBy: s.Condition.Standard}
	if c.NamedBy == "none" {
		c.NamedBy = "common practice"
	}
	if s.Beyond != nil {
		c.BeyondHz, c.BeyondBy = &s.Beyond.FreqsHz[0], s.Beyond.Standard
	}
	return c
}

// Basis is what a result rests on.
type Basis struct {
	Channels           []string    `json:"channels"` // what the inputs carry
	ReferenceOhm       float64     `json:"reference_ohm"`
	ReferenceTolerance float64     `json:"reference_tolerance"` // relative, half-width
	Calibrated         *Calibrated `json:"calibrated"`          // null without a calibration
	Recordings         []string    `json:"recordings"`
}

// Calibrated is the calibration that a result rests on.
type Calibrated struct {
	Date        time.Time `json:"date"`
	Card        string    `json:"card"`
	Frequencies int       `json:"frequencies"`
	Standards   []string  `json:"standards"`
}

// Reading is one part at one frequency.
type Reading struct {
	NominalHz float64 `json:"frequency_nominal_hz"` // as asked for
	impedance.Report
	Main        *Main          `json:"main"` // null where there is none
	Level       Level          `json:"level"`
	Inputs      []Input        `json:"inputs,omitempty"`
	Trusted     bool           `json:"trusted"` // false: touched by an invalid finding; there are no figures then
	Findings    []finding.Code `json:"findings"`
	RefusedBy   []finding.Code `json:"refused_by,omitempty"` // those of the findings that forbid to trust it
	Budget      *Budget        `json:"budget,omitempty"`
	Explanation *Explanation   `json:"explanation,omitempty"`
	Verdict     *Verdict       `json:"verdict,omitempty"`
}

// Main is the figure that a reading is told by.
type Main struct {
	Element string             `json:"element"` // C, L, R, Z or Y
	Circuit *impedance.Circuit `json:"circuit"` // series or parallel; null for Z and Y
	Value   *float64           `json:"value"`
	U       *float64           `json:"u"`
	Low     *float64           `json:"low"`
	High    *float64           `json:"high"`
	Unit    string             `json:"unit"`
}

// MainOf is the main figure of an element; nil where nothing is known of it.
func MainOf(e impedance.Element, q uncertain.Quantity) *Main {
	if q.IsAbsent() {
		return nil
	}
	m := &Main{Element: e.Letter(), Value: orNull(q.Value), U: orNull(q.U), Low: orNull(q.Low), High: orNull(q.High), Unit: e.Unit()}
	if e.Circuit != impedance.NoCircuit {
		m.Circuit = &e.Circuit
	}
	return m
}

// What returns the element and the quantity; nothing of nil.
func (m *Main) What() (impedance.Element, uncertain.Quantity) {
	if m == nil {
		return impedance.Element{}, uncertain.Absent()
	}
	e, err := impedance.ParseElement(m.Element)
	if err != nil {
		return impedance.Element{}, uncertain.Absent()
	}
	if m.Circuit != nil {
		e.Circuit = *m.Circuit
	}
	return e, m.quantity()
}

// quantity is the figure; an end of its interval that is missing is without bound.
func (m *Main) quantity() uncertain.Quantity {
	q := uncertain.Quantity{Value: orNaN(m.Value), U: orNaN(m.U), Low: math.Inf(-1), High: math.Inf(1)}
	if m.Low != nil {
		q.Low = *m.Low
	}
	if m.High != nil {
		q.High = *m.High
	}
	return q
}

// Level is what the part was exposed to, rms; null where full scale is not known.
type Level struct {
	PartVRMS *float64 `json:"part_v_rms"`
	PartARMS *float64 `json:"part_a_rms"`
}

// Input is what one input heard of the tone.
type Input struct {
	Carries string   `json:"carries"`
	DBFS    *float64 `json:"level_dbfs"` // of the tone re a full-scale sine; null for silence
}

// Budget is what the uncertainty is made of.
type Budget struct {
	Re []Source `json:"re_ohm"`
	Im []Source `json:"im_ohm"`
}

// Source is one contribution to it.
type Source struct {
	Source string  `json:"source"`
	U      float64 `json:"u"`
	Share  float64 `json:"share"` // of the variance
}

// Refusals are the codes of the findings that forbid to trust a reading; of a document
// of an older version those of all that touch it.
func (r *Reading) Refusals() []finding.Code {
	if r.Trusted || len(r.RefusedBy) > 0 {
		return r.RefusedBy
	}
	return r.Findings
}

// Reading is the inverse of the reading's report.
func (r *Reading) Reading() impedance.Reading { return r.Report.Reading() }

// UnmarshalJSON reads a reading of this or an older version. Figures that are missing
// are absent, as are those that are null.
func (r *Reading) UnmarshalJSON(text []byte) error {
	type plain Reading
	void := plain{Report: impedance.Void(uncertain.Absent()).Report()}
	if err := json.Unmarshal(text, &void); err != nil {
		return err
	}
	*r = Reading(void)
	return nil
}

// ReadMeasurement reads a document of any version.
func ReadMeasurement(text []byte) (*Measurement, error) {
	var m Measurement
	if err := json.Unmarshal(text, &m); err != nil {
		return nil, err
	}
	Choose(m.Readings, m.As)
	return &m, nil
}

// Choose gives readings without a main figure, as those of older versions, the one that
// the rule has for all of them together.
func Choose(list []Reading, as string) {
	for _, r := range list {
		if r.Main != nil {
			return
		}
	}
	asked, err := impedance.ParseElement(as)
	if err != nil {
		asked = impedance.Element{}
	}
	SetMain(list, asked)
}

// SetMain tells all readings by one element: what is asked for, or else the one that
// the library chooses for all of them. An open or a short is told by the bound of its
// modulus, unless something is known of what was asked for.
func SetMain(list []Reading, asked impedance.Element) {
	readings := make([]impedance.Reading, len(list))
	for i, r := range list {
		readings[i] = r.Reading()
	}
	e := impedance.MainOf(readings, asked)
	for i, r := range readings {
		q := e.In(r)
		if beyond := r.State != impedance.OK; beyond && (asked.Kind == impedance.Undecided || q.IsAbsent()) {
			list[i].Main = MainOf(r.Main())
			continue
		}
		list[i].Main = MainOf(e, q)
	}
}

// Element is the one that most readings are told by.
func (m *Measurement) Element() impedance.Element { return ElementOf(m.Readings) }

// ElementOf is the one that most of some readings are told by.
func ElementOf(list []Reading) impedance.Element {
	for _, r := range list {
		if e, _ := r.Main.What(); r.State == impedance.OK && r.Main != nil {
			return e
		}
	}
	return impedance.Element{Kind: impedance.ModulusZ}
}

// Write writes one document, indented, with a newline at its end.
func Write(w io.Writer, doc any) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", " ")
	return enc.Encode(doc)
}

// WriteLine writes one document in a line of its own.
func WriteLine(w io.Writer, doc any) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	return enc.Encode(doc)
}

func orNull(v float64) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	return &v
}

func orNaN(v *float64) float64 {
	if v == nil {
		return math.NaN()
	}
	return *v
}
