package report

import (
	"io"

	"example.org/wheatear/lockin"
	"example.org/wheatear/lockin/impedance"
)

// planningDoc is the schema wheatear.plan/1.
type planningDoc struct {
	Schema  string      `json:"schema"`
	Part    string      `json:"part"`
	Jig     string      `json:"jig"`
	Wanted  *float64    `json:"wanted"`
	Longer  *longerDoc  `json:"longer"`
	Choices []choiceDoc `json:"choices"`
}

type longerDoc struct {
	Seconds   float64 `json:"seconds"`
	HalfWidth float64 `json:"half_width"`
}

type choiceDoc struct {
	ReferenceOhm float64            `json:"reference_ohm"`
	FreqHz       float64            `json:"frequency_hz"`
	Standard     *string            `json:"standard"`
	PeakDBFS     float64            `json:"peak_dbfs"`
	Seconds      float64            `json:"seconds"`
	HalfWidth    *float64           `json:"half_width"`
	Reached      bool               `json:"reached"`
	Circuit      *impedance.Circuit `json:"circuit"`
	Limits       []sourceDoc        `json:"limits"`
	Warnings     []string           `json:"warnings"`
	Level        levelDoc           `json:"level"`
}

// PlanningJSON writes it for programs.
func PlanningJSON(w io.Writer, p *Planning) error {
	doc := planningDoc{Schema: "wheatear.plan/1", Part: p.Text, Jig: p.Jig.Name, Choices: []choiceDoc{}}
	if p.Plan.Wish.Want > 0 {
		doc.Wanted = &p.Plan.Wish.Want
	}
	if l := p.Plan.Longer; l != nil {
		doc.Longer = &longerDoc{l.Seconds, l.Half}
	}
	for _, c := range p.Plan.Choices {
		d := choiceDoc{ReferenceOhm: c.ReferenceOhm, FreqHz: c.FreqHz, PeakDBFS: lockin.AmplitudeDB(c.Peak), Seconds: c.Seconds, HalfWidth: orNull(c.Half), Reached: c.Reached,
			Circuit: unless(c.Corrected.Reading.Fitting.Circuit), Limits: []sourceDoc{}, Warnings: listed(c.Warnings(p.Plan.Wish)),
			Level: levelDoc{orNull(c.Corrected.Level.VoltRMS), orNull(c.Corrected.Level.AmpereRMS)}}
		if cond, ok := p.Plan.Wish.Part.Condition(c.FreqHz); ok && cond.Standard != "none" {
			d.Standard = &cond.Standard
		}
		for _, l := range c.Limits {
			d.Limits = append(d.Limits, sourceDoc{l.Label, l.U, l.Share})
		}
		doc.Choices = append(doc.Choices, d)
	}
	return writeJSON(w, doc)
}
