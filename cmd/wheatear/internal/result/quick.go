package result

import (
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/identify"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/predict"
)

// QuickSchema is what a Quick says it is.
const QuickSchema = "wheatear.identify.quick/1"

// Quick is the schema wheatear.identify.quick/1: what an unknown part is by a short look,
// one record of several tones.
type Quick struct {
	Schema      string            `json:"schema"`
	Jig         string            `json:"jig"`
	Calibration *string           `json:"calibration"` // file; null for none
	Part        *string           `json:"part"`        // name; null where none was given
	Kind        *string           `json:"kind"`        // resistor, capacitor or inductor; null where it cannot be told
	Chosen      *Chosen           `json:"chosen"`      // the frequency of the reading that it is told by; null like kind
	Reading     *Reading          `json:"reading"`     // at that frequency, told by the element of the kind; null like kind
	Marking     *Nearest          `json:"marking"`     // nearest preferred value; null where there is none
	Doubts      []Doubt           `json:"doubts"`      // what speaks against it, or for parts beside it
	Readings    []Reading         `json:"readings"`    // at all tones of the look
	Findings    []finding.Finding `json:"findings"`    // of the reading; of all readings where there is none
	RestsOn     *Basis            `json:"rests_on"`
}

// Doubt is something that speaks against what a part is taken for.
type Doubt struct {
	Kind  predict.DoubtKind `json:"kind"`
	Hz    float64           `json:"frequency_hz"`
	Value *float64          `json:"value"` // what it is depends on the kind
	Unit  string            `json:"unit"`  // of the value; empty for a plain number
	Is    string            `json:"is"`    // what it is there instead; empty but for other-kind
}

// Glimpsed is what a look at a part came to.
type Glimpsed struct {
	Measurement *Measurement // all readings
	Part        string
	Suited      *predict.Suited // nil where the look does not show what it is
	Chosen      *Chosen
	At          int // of the readings, the one at the frequency that suits
}

// NewQuick is the document of a look.
func NewQuick(g Glimpsed) *Quick {
	m := g.Measurement
	q := &Quick{Schema: QuickSchema, Jig: m.Jig, Calibration: m.Calibration, Readings: m.Readings, Findings: m.Findings, RestsOn: m.RestsOn, Doubts: []Doubt{}}
	if g.Part != "" {
		q.Part = &g.Part
	}
	if g.Suited == nil {
		return q
	}
	kind := string(g.Suited.Part.Kind)
	q.Kind, q.Chosen = &kind, g.Chosen
	one := []Reading{m.Readings[g.At]}
	asked := impedance.Element{Kind: g.Suited.Part.Kind}
	SetMain(one, asked)
	SetMain(q.Readings, asked)
	q.Reading = &one[0]
	var look []impedance.Reading
	for _, r := range q.Readings {
		if r.Trusted {
			look = append(look, r.Reading())
		}
	}
	e, main := q.Reading.Main.What()
	for _, d := range g.Suited.Part.Doubts(look, q.Reading.Reading()) {
		q.Doubts = append(q.Doubts, Doubt{Kind: d.Kind, Hz: d.FreqHz, Value: orNull(d.Value), Unit: doubtUnit(d.Kind, e), Is: string(d.Is)})
	}
	if main.Value > 0 {
		n := identify.NearestMarking(main.Value, g.Suited.Part.Type.Unit(), e.Kind == impedance.Capacitor && parts.LikelyElectrolytic(main.Value, q.Reading.Reading().D.Low))
		q.Marking = &Nearest{n.Series.String(), n.Value, n.Text, n.Off}
	}
	return q
}

func doubtUnit(kind predict.DoubtKind, e impedance.Element) string {
	switch kind {
	case predict.Changes:
		return e.Unit()
	case predict.Across:
		return "Ω"
	case predict.Capacitive:
		return "F"
	}
	return ""
}
