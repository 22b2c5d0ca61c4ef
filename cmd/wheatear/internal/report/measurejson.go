package report

import (
	"io"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/uncertain"
)

// measureDoc is the schema wheatear.measure/1.
type measureDoc struct {
	Schema      string            `json:"schema"`
	Jig         string            `json:"jig"`
	Calibration *string           `json:"calibration"`
	Readings    []readingDoc      `json:"readings"`
	Findings    []finding.Finding `json:"findings"`
}

type readingDoc struct {
	NominalHz float64 `json:"frequency_nominal_hz"`
	impedance.Report
	Level    levelDoc       `json:"level"`
	Trusted  bool           `json:"trusted"`
	Findings []finding.Code `json:"findings"`
	Budget   *budgetDoc     `json:"budget,omitempty"`
	Verdict  *verdictDoc    `json:"verdict,omitempty"`
}

type levelDoc struct {
	PartVRMS *float64 `json:"part_v_rms"`
	PartARMS *float64 `json:"part_a_rms"`
}

type budgetDoc struct {
	Re []sourceDoc `json:"re_ohm"`
	Im []sourceDoc `json:"im_ohm"`
}

type sourceDoc struct {
	Source string  `json:"source"`
	U      float64 `json:"u"`
	Share  float64 `json:"share"`
}

// MeasureJSON writes readings for programs.
func MeasureJSON(w io.Writer, m *Measurement) error { return writeJSON(w, m.doc()) }

func (m *Measurement) doc() *measureDoc {
	doc := &measureDoc{Schema: "wheatear.measure/1", Jig: m.Jig.Name, Readings: []readingDoc{}, Findings: listed(m.Findings)}
	if m.Calibration != "" {
		doc.Calibration = &m.Calibration
	}
	for _, r := range m.Readings {
		d := readingDoc{
			NominalHz: r.NominalHz, Report: r.reported(), Trusted: r.Trusted, Findings: codes(r.Findings),
			Level: levelDoc{orNull(r.Level.VoltRMS), orNull(r.Level.AmpereRMS)}, Verdict: r.verdict(),
		}
		if m.Budget && r.Result != nil {
			d.Budget = &budgetDoc{sources(r.Result, fixture.OutRe), sources(r.Result, fixture.OutIm)}
		}
		doc.Readings = append(doc.Readings, d)
	}
	return doc
}

// reported is the reading; one that is not to be trusted has no figures at all.
func (r *Reading) reported() impedance.Report {
	if r.Trusted {
		return r.Corrected.Reading.Report()
	}
	void := impedance.Void(uncertain.Absent()).Report()
	void.State = r.Corrected.Reading.State
	return void
}

func sources(result *uncertain.Result, output int) []sourceDoc {
	out := []sourceDoc{}
	for _, c := range result.Budget(output) {
		out = append(out, sourceDoc{c.Label, c.U, c.Share})
	}
	return out
}

// calibrateDoc is the schema wheatear.calibrate/1.
type calibrateDoc struct {
	Schema      string            `json:"schema"`
	Frequencies []float64         `json:"frequencies_hz"`
	Findings    []finding.Finding `json:"findings"`
}

// CalibrateJSON writes the outcome of a calibration for programs.
func CalibrateJSON(w io.Writer, freqsHz []float64, findings []finding.Finding) error {
	return writeJSON(w, calibrateDoc{"wheatear.calibrate/1", listed(freqsHz), listed(findings)})
}
