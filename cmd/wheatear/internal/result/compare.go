package result

import (
	"encoding/json"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/uncertain"
)

// Comparison is the schema wheatear.compare/1: a part against a good one.
type Comparison struct {
	Schema      string            `json:"schema"`
	Jig         string            `json:"jig"`         // name
	Calibration *string           `json:"calibration"` // file; null for none
	As          string            `json:"as,omitempty"`
	Matters     *float64          `json:"matters"` // relative difference that matters; null for any that is significant
	Verdict     Agreement         `json:"verdict"` // of all frequencies together
	Differences []Difference      `json:"differences"`
	Good        []Reading         `json:"good"`     // of the good part
	Readings    []Reading         `json:"readings"` // of the part in doubt
	Findings    []finding.Finding `json:"findings"`
	RestsOn     *Basis            `json:"rests_on,omitempty"`
	GoodFiles   []string          `json:"good_recordings,omitempty"` // recordings of the good part
}

// ComparisonSchema is what a Comparison says it is.
const ComparisonSchema = "wheatear.compare/1"

// Agreement is what a comparison comes to.
type Agreement string

// The outcomes.
const (
	Alike   Agreement = "alike"
	Differs Agreement = "differs"
	Unsure  Agreement = "undecided"
)

// Difference is that of two parts at one frequency; null in all but the frequency and
// the verdict where one of the readings is not to be trusted.
type Difference struct {
	FreqHz   float64             `json:"frequency_hz"`
	Quantity *string             `json:"quantity"`          // key of the quantity that is compared
	Circuit  *impedance.Circuit  `json:"circuit,omitempty"` // of the quantity; missing for a modulus
	Relative *uncertain.Quantity `json:"relative"`          // difference of the quantity, relative
	Loss     *uncertain.Quantity `json:"loss"`              // difference of the dissipation factors, or of the phases in rad where the good part is a resistor
	Chance   *float64            `json:"chance"`            // p-value: the probability that two equal parts differ by as much
	Verdict  Agreement           `json:"verdict"`
}

// Element is what is compared.
func (d *Difference) Element() impedance.Element {
	if d.Quantity == nil {
		return impedance.Element{}
	}
	e := impedance.ElementOf(*d.Quantity, impedance.SeriesCircuit)
	switch {
	case d.Circuit != nil:
		e.Circuit = *d.Circuit
	case e.Kind == impedance.ModulusZ || e.Kind == impedance.ModulusY:
		e.Circuit = impedance.NoCircuit
	}
	return e
}

// ReadComparison reads a document of any version.
func ReadComparison(text []byte) (*Comparison, error) {
	var c Comparison
	if err := json.Unmarshal(text, &c); err != nil {
		return nil, err
	}
	Choose(c.Good, c.As)
	Choose(c.Readings, c.As)
	return &c, nil
}
