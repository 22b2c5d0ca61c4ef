package result

import (
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
)

// Calibration is the schema wheatear.calibrate/1: the outcome of a calibration.
type Calibration struct {
	Schema      string             `json:"schema"`
	Jig         string             `json:"jig,omitempty"`  // name
	Frequencies []float64          `json:"frequencies_hz"` // calibrated; none where it was refused
	Points      []CalibrationPoint `json:"points,omitempty"`
	Findings    []finding.Finding  `json:"findings"`
}

// CalibrationSchema is what a Calibration says it is.
const CalibrationSchema = "wheatear.calibrate/1"

// CalibrationPoint is a calibration at one frequency.
type CalibrationPoint struct {
	FreqHz    float64  `json:"frequency_hz"`
	Standards []string `json:"standards"` // that it was made with
	Settled   bool     `json:"settled"`   // by the standards; false: the rest by what is usual of jigs
}

// NewCalibration is the document of a calibration; cal is nil where it was refused.
func NewCalibration(cal *fixture.Calibration, findings []finding.Finding) *Calibration {
	doc := &Calibration{Schema: CalibrationSchema, Frequencies: []float64{}, Findings: listed(findings)}
	if cal == nil {
		return doc
	}
	doc.Jig, doc.Frequencies = cal.Jig.Name, listed(cal.Frequencies())
	for _, p := range cal.Points {
		doc.Points = append(doc.Points, CalibrationPoint{p.FreqHz, listed(p.Standards), p.Settled})
	}
	return doc
}
