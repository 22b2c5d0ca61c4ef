package report

import (
	"reflect"
	"slices"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/uncertain"
)

// Measurement is what measure has to tell.
type Measurement struct {
	Jig         *fixture.Jig
	Calibration string               // file, empty for none
	Cal         *fixture.Calibration // nil for none
	Files       []string
	Readings    []*Reading
	Findings    []finding.Finding // of all readings, each once

	Budget, Explain bool            // what a person asked for beside the readings
	Report          bool            // a report is written, which needs the budget
	Expected        []parts.Marking // the part that the readings are judged by, as its marking may be read; none for no verdict
}

// Reading is a part at one frequency and what it was read from.
type Reading struct {
	*fixture.Corrected
	Observations []fixture.Observation
	Result       *uncertain.Result  // for budget and explanation; nil where not wanted
	Judgement    *fixture.Judgement // nil where nothing is expected
}

// AddFindings adds those that are not there already.
func (m *Measurement) AddFindings(findings []finding.Finding) {
	for _, f := range findings {
		if !slices.ContainsFunc(m.Findings, func(g finding.Finding) bool { return reflect.DeepEqual(f, g) }) {
			m.Findings = append(m.Findings, f)
		}
	}
}

// codes lists the codes of findings, each once.
func codes(findings []finding.Finding) []finding.Code {
	out := []finding.Code{}
	for _, f := range findings {
		if !slices.Contains(out, f.Code) {
			out = append(out, f.Code)
		}
	}
	return out
}

// refusals lists the codes that forbid to trust a reading.
func (r *Reading) refusals() []finding.Code {
	var grave []finding.Finding
	for _, f := range r.Findings {
		if f.Severity == finding.Invalid {
			grave = append(grave, f)
		}
	}
	return codes(grave)
}
