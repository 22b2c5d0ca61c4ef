package result

import (
	"math"

	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/parts"
)

// Verdict says whether a part is what was expected.
type Verdict struct {
	Outcome     parts.Outcome `json:"outcome"`
	Expected    string        `json:"expected"`
	Nominal     *float64      `json:"nominal,omitempty"` // value, in the unit of the quantity, as are all below
	Quantity    string        `json:"quantity"`          // the key of the equivalent
	Circuit     string        `json:"circuit"`
	Low         *float64      `json:"limit_low"`
	High        *float64      `json:"limit_high"`
	Conformance *float64      `json:"conformance_probability"`
	Risk        *float64      `json:"risk"`
	AcceptLow   *float64      `json:"acceptance_low"`
	AcceptHigh  *float64      `json:"acceptance_high"`
	Capability  *float64      `json:"capability_index"`
	EnoughU     *float64      `json:"u_to_decide"`
}

// NewVerdict is the document of a judgement; nil of none.
func NewVerdict(j *fixture.Judgement) *Verdict {
	if j == nil {
		return nil
	}
	v := &Verdict{Outcome: j.Outcome, Expected: j.Expected.Text, Nominal: orNull(j.Expected.Value),
		Quantity: j.Element.Key(), Circuit: string(j.Element.Circuit)}
	if math.IsNaN(j.Conformance) {
		return v
	}
	v.Low, v.High = orNull(j.Limits.Low), orNull(j.Limits.High)
	v.Conformance, v.Risk = orNull(j.Conformance), orNull(j.Risk)
	v.AcceptLow, v.AcceptHigh = orNull(j.Acceptance.Low), orNull(j.Acceptance.High)
	v.Capability, v.EnoughU = orNull(j.Capability), orNull(j.EnoughU)
	return v
}
