package result

import (
	"math"

	"example.org/wheatear/lockin/identify"
	"example.org/wheatear/lockin/uncertain"
)

// IdentitySchema is what an Identity says it is.
const IdentitySchema = "wheatear.identify/1"

// Identity is the schema wheatear.identify/1: what an unknown part is.
type Identity struct {
	Schema     string              `json:"schema"`
	Family     *identify.Family    `json:"family"` // nil where it cannot be told
	Confidence identify.Confidence `json:"confidence"`
	Reasons    []string            `json:"reasons"`
	Unit       string              `json:"unit"`
	Value      *uncertain.Quantity `json:"value"`
	ValueHz    *float64            `json:"value_hz"`
	Marking    *Nearest            `json:"marking"`
	Resonance  *uncertain.Quantity `json:"resonance_hz"`
	LowHz      *float64            `json:"behaves_from_hz"`
	HighHz     *float64            `json:"behaves_to_hz"`
	Circuit    *Circuit            `json:"circuit"` // nil for too few points
	Swept
}

// Nearest is the preferred value that a part is nearest to.
type Nearest struct {
	Series string  `json:"series"`
	Value  float64 `json:"value"`
	Text   string  `json:"text"`
	Off    float64 `json:"off"` // of the part from it, relative
}

// NewIdentity is the document of what a part was found to be.
func NewIdentity(sweep Swept, id *identify.Identity) *Identity {
	doc := &Identity{Schema: IdentitySchema, Confidence: id.Confidence, Reasons: listed(id.Reasons), Unit: id.Family.Unit().String(),
		ValueHz: aboveZero(id.ValueHz), LowHz: aboveZero(id.LowHz), HighHz: aboveZero(id.HighHz), Swept: sweep}
	if id.Family != identify.Unknown {
		doc.Family = &id.Family
	}
	if !id.Value.IsAbsent() {
		doc.Value = &id.Value
	}
	if !id.ResonanceHz.IsAbsent() {
		doc.Resonance = &id.ResonanceHz
	}
	if m := id.Marking; m.Series != 0 {
		doc.Marking = &Nearest{m.Series.String(), m.Value, m.Text, m.Off}
	}
	if id.Choice != nil {
		c := newCircuit(&id.Choice.Fits[0])
		doc.Circuit = &c
	}
	return doc
}

func aboveZero(v float64) *float64 {
	if v > 0 && !math.IsInf(v, 0) {
		return &v
	}
	return nil
}
