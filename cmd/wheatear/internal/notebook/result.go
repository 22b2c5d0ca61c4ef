package notebook

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"example.org/wheatear/cmd/wheatear/internal/result"
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

// Point is one reading as a list shows it. The seals of entries are made of it: its
// fields never change.
type Point struct {
	FreqHz   float64 // nominal
	State    string
	Trusted  bool
	Quantity string   // the main figure: Cs, Cp, Ls, Lp, Rs, Rp, |Z| or |Y|
	Unit     string   // F, H or Ω
	Value    *float64 // nil where there is none
	U        *float64 // standard uncertainty
	Low      *float64 // 95 % interval; nil where it is unbounded
	High     *float64
}

// resultDoc is what the schemas of results have in common.
type resultDoc struct {
	Schema    string           `json:"schema"`
	Jig       string           `json:"jig"`
	Verdict   json.RawMessage  `json:"verdict"`
	Readings  []result.Reading `json:"readings"`
	As        string           `json:"as"`
	Findings  []findingDoc     `json:"findings"`
	Failed    int              `json:"failed"`
	Undecided int              `json:"undecided"`
	Passed    int              `json:"passed"`
}

type findingDoc struct {
	Code     string `json:"code"`
	Severity string `json:"severity"`
}

// summarise checks that a result is one JSON object with a schema of ours, and
// returns it without white space together with what can be told of it in short.
func summarise(text []byte) (json.RawMessage, Summary, error) {
	var doc resultDoc
	if err := json.Unmarshal(text, &doc); err != nil {
		return nil, Summary{}, fmt.Errorf("notebook: the result is not the JSON of a wheatear command: %w", err)
	}
	name, ok := strings.CutPrefix(doc.Schema, "wheatear.")
	name, _, versioned := strings.Cut(name, "/")
	if !ok || !versioned || name == "" {
		return nil, Summary{}, fmt.Errorf("notebook: the schema %q of the result is none of wheatear, such as wheatear.measure/1", doc.Schema)
	}
	var compact bytes.Buffer
	if err := json.Compact(&compact, text); err != nil {
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
	result.Choose(doc.Readings, doc.As)
	for i := range doc.Readings {
		s.Trusted = s.Trusted && doc.Readings[i].Trusted
		s.Points = append(s.Points, pointOf(&doc.Readings[i]))
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
			if r.Verdict != nil && string(r.Verdict.Outcome) == worst {
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

// pointOf is a reading in short: its main figure.
func pointOf(r *result.Reading) Point {
	p := Point{FreqHz: r.NominalHz, State: string(r.State), Trusted: r.Trusted}
	if e, _ := r.Main.What(); r.Main != nil {
		p.Quantity, p.Unit = e.Symbol(), e.Unit()
		p.Value, p.U, p.Low, p.High = r.Main.Value, r.Main.U, r.Main.Low, r.Main.High
		return p
	}
	p.Quantity, p.Unit = "|Z|", "Ω"
	return p
}
