package notebook

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
)

// Kind says what an entry is. A result whose schema is wheatear.NAME/1 is of the
// kind NAME, but for those that have a word of their own.
type Kind string

// The kinds with a word of their own.
const (
	Reading     Kind = "reading"     // wheatear.measure
	Calibration Kind = "calibration" // wheatear.calibrate
	Jig         Kind = "jig"         // wheatear.setup
	Comparison  Kind = "comparison"  // wheatear.compare
)

var ownWord = map[string]Kind{"measure": Reading, "calibrate": Calibration, "setup": Jig, "compare": Comparison}

// Summary is what a list shows of a result, and what can be searched for.
type Summary struct {
	Kind     Kind
	Schema   string
	JigName  string
	Trusted  bool     // no reading in it is refused
	Verdict  string   // the worst of its verdicts; empty for none
	Findings []string // codes, each once
	Points   []Point  // its readings
}

// Point is one reading as a list shows it.
type Point struct {
	FreqHz   float64 // nominal
	State    string
	Trusted  bool
	Quantity string   // C, L or R as the part is a capacitor, inductor or resistor, else |Z|
	Unit     string   // F, H or Ω
	Value    *float64 // nil where there is none
	U        *float64 // standard uncertainty
	Low      *float64 // 95 % interval; nil where it is unbounded
	High     *float64
}

// resultDoc is what the schemas of results have in common.
type resultDoc struct {
	Schema    string          `json:"schema"`
	Jig       string          `json:"jig"`
	Verdict   json.RawMessage `json:"verdict"`
	Readings  []readingDoc    `json:"readings"`
	Findings  []findingDoc    `json:"findings"`
	Failed    int             `json:"failed"`
	Undecided int             `json:"undecided"`
	Passed    int             `json:"passed"`
}

type findingDoc struct {
	Code     string `json:"code"`
	Severity string `json:"severity"`
}

type readingDoc struct {
	NominalHz float64       `json:"frequency_nominal_hz"`
	State     string        `json:"state"`
	Z         impedanceDoc  `json:"z"`
	Series    equivalentDoc `json:"series"`
	Parallel  equivalentDoc `json:"parallel"`
	Q         *quantityDoc  `json:"q"`
	D         *quantityDoc  `json:"d"`
	Dominant  string        `json:"dominant"`
	Level     levelDoc      `json:"level"`
	Trusted   bool          `json:"trusted"`
	Findings  []string      `json:"findings"`
	Verdict   struct {
		Outcome string `json:"outcome"`
	} `json:"verdict"`
}

type impedanceDoc struct {
	Re      *quantityDoc `json:"re_ohm"`
	Im      *quantityDoc `json:"im_ohm"`
	Modulus *quantityDoc `json:"modulus_ohm"`
}

type equivalentDoc struct {
	R *quantityDoc `json:"r_ohm"`
	C *quantityDoc `json:"c_f"`
	L *quantityDoc `json:"l_h"`
}

type levelDoc struct {
	PartVRMS *float64 `json:"part_v_rms"`
	PartARMS *float64 `json:"part_a_rms"`
}

type quantityDoc struct {
	Value *float64 `json:"value"`
	U     *float64 `json:"u"`
	Low   *float64 `json:"low"`
	High  *float64 `json:"high"`
}

// summarise checks that a result is one JSON object with a schema of ours, and
// returns it without white space together with what can be told of it in short.
func summarise(result []byte) (json.RawMessage, Summary, error) {
	var doc resultDoc
	if err := json.Unmarshal(result, &doc); err != nil {
		return nil, Summary{}, fmt.Errorf("notebook: the result is not the JSON of a wheatear command: %w", err)
	}
	name, ok := strings.CutPrefix(doc.Schema, "wheatear.")
	name, _, versioned := strings.Cut(name, "/")
	if !ok || !versioned || name == "" {
		return nil, Summary{}, fmt.Errorf("notebook: the schema %q of the result is none of wheatear, such as wheatear.measure/1", doc.Schema)
	}
	var compact bytes.Buffer
	if err := json.Compact(&compact, result); err != nil {
		return nil, Summary{}, fmt.Errorf("notebook: the result is no JSON: %w", err)
	}
	s := Summary{Kind: Kind(name), Schema: doc.Schema, JigName: doc.Jig, Trusted: true, Verdict: doc.verdict(), Findings: []string{}}
	if own, ok := ownWord[name]; ok {
		s.Kind = own
	}
	for _, f := range doc.Findings {
		s.Trusted = s.Trusted && (f.Severity != "invalid" || len(doc.Readings) > 0)
		if !slices.Contains(s.Findings, f.Code) {
			s.Findings = append(s.Findings, f.Code)
		}
	}
	for _, r := range doc.Readings {
		s.Trusted = s.Trusted && r.Trusted
		s.Points = append(s.Points, r.point())
	}
	return compact.Bytes(), s, nil
}

// verdict is the worst of those in a result: its own, if it has one.
func (d *resultDoc) verdict() string {
	own := ""
	if json.Unmarshal(d.Verdict, &own) == nil && own != "" {
		return own
	}
	for _, worst := range []string{"fail", "undecided", "pass"} {
		for _, r := range d.Readings {
			if r.Verdict.Outcome == worst {
				return worst
			}
		}
	}
	switch { // a lot of parts
	case d.Failed > 0:
		return "fail"
	case d.Undecided > 0:
		return "undecided"
	case d.Passed > 0:
		return "pass"
	}
	return ""
}

// point is a reading in short: by what the part is for the most part, in series
// where there is such an equivalent.
func (r *readingDoc) point() Point {
	p := Point{FreqHz: r.NominalHz, State: r.State, Trusted: r.Trusted, Quantity: "|Z|", Unit: "Ω"}
	q := r.Z.Modulus
	switch r.Dominant {
	case "capacitor":
		p.Quantity, p.Unit, q = "C", "F", either(r.Series.C, r.Parallel.C)
	case "inductor":
		p.Quantity, p.Unit, q = "L", "H", either(r.Series.L, r.Parallel.L)
	case "resistor":
		p.Quantity, q = "R", either(r.Series.R, r.Parallel.R)
	}
	if q != nil {
		p.Value, p.U, p.Low, p.High = q.Value, q.U, q.Low, q.High
	}
	return p
}

func either(a, b *quantityDoc) *quantityDoc {
	if a != nil {
		return a
	}
	return b
}
