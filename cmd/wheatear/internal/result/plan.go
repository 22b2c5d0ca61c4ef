package result

import (
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/predict"
)

// PlanSchema is what a Plan says it is.
const PlanSchema = "wheatear.plan/1"

// Plan is the schema wheatear.plan/1: what to set for a part, and what it will come to.
type Plan struct {
	Schema  string   `json:"schema"`
	Part    string   `json:"part"` // as it was asked for
	Jig     string   `json:"jig"`
	Wanted  *float64 `json:"wanted"`
	Longer  *Longer  `json:"longer"`
	Choices []Choice `json:"choices"` // best first

	Meant        string   `json:"meant"`
	ReferenceOhm float64  `json:"reference_ohm"`
	Assumed      string   `json:"assumed"`
	Remedies     []Remedy `json:"remedies"`
	Reach        *Reach   `json:"reach"` // nil where it was not asked for
}

// Remedy is a change that would bring more.
type Remedy struct {
	Change    predict.Change `json:"change"`
	HalfWidth *float64       `json:"half_width"`
	Reached   bool           `json:"reached"`
	Words     string         `json:"words"`
}

// Reach is what can be read over frequency, and the part in it.
type Reach struct {
	References []ReachOf `json:"references"`
	Part       Locus     `json:"part"`
}

// Locus is |Z| over frequency.
type Locus struct {
	FreqsHz []float64 `json:"frequencies_hz"`
	Modulus []float64 `json:"modulus_ohm"`
}

// ReachOf is what can be read with one reference.
type ReachOf struct {
	ReferenceOhm float64   `json:"reference_ohm"`
	FreqsHz      []float64 `json:"frequencies_hz"`
	Within       []Within  `json:"within"`
}

// Within are the ends of |Z| between which it is known so well; nil where it is nowhere.
type Within struct {
	HalfWidth float64    `json:"half_width"`
	Low       []*float64 `json:"low_ohm"`
	High      []*float64 `json:"high_ohm"`
}

// Longer is what a longer record would bring.
type Longer struct {
	Seconds   float64 `json:"seconds"`
	HalfWidth float64 `json:"half_width"`
}

// Choice is one reference at one frequency.
type Choice struct {
	ReferenceOhm float64            `json:"reference_ohm"`
	FreqHz       float64            `json:"frequency_hz"`
	Standard     *string            `json:"standard"`
	PeakDBFS     float64            `json:"peak_dbfs"`
	Seconds      float64            `json:"seconds"`
	HalfWidth    *float64           `json:"half_width"` // relative, of the 95 % interval; nil for no reading
	Reached      bool               `json:"reached"`
	Circuit      *impedance.Circuit `json:"circuit"`
	Limits       []PlanLimit        `json:"limits"`
	Warnings     []string           `json:"warnings"`
	Level        Level              `json:"level"`
	At           string             `json:"at"`          // to give to calibrate and measure
	LevelAsked   string             `json:"level_asked"` // likewise
	Changes      []string           `json:"changes"`     // to be made first
	Words        ChoiceWords        `json:"words"`
}

// PlanLimit is a source of uncertainty, with why it acts as it does.
type PlanLimit struct {
	Source
	Why string `json:"why"`
}

// ChoiceWords is a choice in words.
type ChoiceWords struct {
	Reference string `json:"reference"`
	Frequency string `json:"frequency"`
	Level     string `json:"level"`
	Record    string `json:"record"`
	HalfWidth string `json:"half_width"`
	Why       string `json:"why"`
	AtPart    string `json:"at_part"`
	ReadAs    string `json:"read_as"`
	Verdict   string `json:"verdict"`
}
