package report

import (
	"io"

	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/tell"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/predict"
	"example.org/wheatear/lockin/spectrum"
)

// planningDoc is the schema wheatear.plan/1.
type planningDoc struct {
	Schema  string      `json:"schema"`
	Part    string      `json:"part"`
	Jig     string      `json:"jig"`
	Wanted  *float64    `json:"wanted"`
	Longer  *longerDoc  `json:"longer"`
	Choices []choiceDoc `json:"choices"`

	Meant        string      `json:"meant"`
	ReferenceOhm float64     `json:"reference_ohm"`
	Assumed      string      `json:"assumed"`
	Remedies     []remedyDoc `json:"remedies"`
	Reach        *reachDoc   `json:"reach"`
}

type remedyDoc struct {
	Change    predict.Change `json:"change"`
	HalfWidth *float64       `json:"half_width"`
	Reached   bool           `json:"reached"`
	Words     string         `json:"words"`
}

// reachDoc is what can be read over frequency, and the part in it.
type reachDoc struct {
	References []reachOfDoc `json:"references"`
	Part       curveDoc     `json:"part"`
}

type curveDoc struct {
	FreqHz  []float64 `json:"frequencies_hz"`
	Modulus []float64 `json:"modulus_ohm"`
}

type reachOfDoc struct {
	ReferenceOhm float64     `json:"reference_ohm"`
	FreqHz       []float64   `json:"frequencies_hz"`
	Within       []withinDoc `json:"within"`
}

// withinDoc are the ends of |Z| between which it is known so well; null where it is
// nowhere.
type withinDoc struct {
	HalfWidth float64    `json:"half_width"`
	Low       []*float64 `json:"low_ohm"`
	High      []*float64 `json:"high_ohm"`
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
	Limits       []limitDoc         `json:"limits"`
	Warnings     []string           `json:"warnings"`
	Level        levelDoc           `json:"level"`
	At           string             `json:"at"`
	LevelAsked   string             `json:"level_asked"`
	Changes      []string           `json:"changes"`
	Words        wordsDoc           `json:"words"`
}

// limitDoc is a source with why it acts as it does.
type limitDoc struct {
	result.Source
	Why string `json:"why"`
}

// PlanningJSON writes it for programs.
func PlanningJSON(w io.Writer, p *Planning) error {
	doc := planningDoc{Schema: "wheatear.plan/1", Part: p.Text, Jig: p.Jig.Name, Choices: []choiceDoc{}, Meant: loose(p.meant()),
		ReferenceOhm: p.Jig.ReferenceOhm, Assumed: minus(loose(p.assumed())), Remedies: []remedyDoc{}}
	if p.Plan.Wish.Want > 0 {
		doc.Wanted = &p.Plan.Wish.Want
	}
	if l := p.Plan.Longer; l != nil {
		doc.Longer = &longerDoc{l.Seconds, l.Half}
	}
	for _, c := range p.Plan.Choices {
		doc.Choices = append(doc.Choices, p.choiceDoc(c))
	}
	for _, r := range p.Setup.Remedies(p.Plan) {
		doc.Remedies = append(doc.Remedies, remedyDoc{r.Change, orNull(r.Choice.Half), r.Choice.Reached, loose(p.remedy(r))})
	}
	if p.Grid {
		reach, err := p.reachDoc()
		if err != nil {
			return err
		}
		doc.Reach = reach
	}
	return writeJSON(w, doc)
}

func (p *Planning) choiceDoc(c predict.Choice) choiceDoc {
	d := choiceDoc{ReferenceOhm: c.ReferenceOhm, FreqHz: c.FreqHz, PeakDBFS: spectrum.AmplitudeDB(c.Peak), Seconds: c.Seconds, HalfWidth: orNull(c.Half), Reached: c.Reached,
		Circuit: unless(c.Corrected.Reading.Fitting.Circuit), Limits: []limitDoc{}, Warnings: listed(c.Warnings(p.Plan.Wish)),
		Level: levelDoc{PartVRMS: orNull(c.Corrected.Level.VoltRMS), PartARMS: orNull(c.Corrected.Level.AmpereRMS)}, At: asked(c), LevelAsked: played(c), Changes: listed(p.changes(c)), Words: p.words(c)}
	if cond, ok := c.Condition(p.Plan.Wish.Part); ok && cond.Standard != "none" {
		d.Standard = &cond.Standard
	}
	for _, l := range c.Limits {
		d.Limits = append(d.Limits, limitDoc{result.Source{Source: l.Label, U: l.U, Share: l.Share}, tell.Why(l.Label)})
	}
	return d
}

// mostReaches is of how many references the document has the reach.
const mostReaches = 10

// reachDoc is the chart in figures.
func (p *Planning) reachDoc() (*reachDoc, error) {
	lowHz, highHz := p.span()
	locus := p.locus(p.Plan.Wish.Part, lowHz, highHz)
	doc := &reachDoc{References: []reachOfDoc{}, Part: curveDoc{FreqHz: locus.X}}
	for _, q := range locus.Y {
		doc.Part.Modulus = append(doc.Part.Modulus, q.Value)
	}
	for _, ohm := range p.drawn(mostReaches) {
		m, err := p.mapOf(ohm)
		if err != nil {
			return nil, err
		}
		d := reachOfDoc{ReferenceOhm: ohm, FreqHz: m.FreqsHz}
		for _, half := range []float64{0.1, 0.01, 0.001} {
			low, high := m.Reach(half)
			d.Within = append(d.Within, withinDoc{half, nulls(low), nulls(high)})
		}
		doc.References = append(doc.References, d)
	}
	return doc, nil
}

func nulls(values []float64) []*float64 {
	out := make([]*float64, len(values))
	for i, v := range values {
		out[i] = orNull(v)
	}
	return out
}
