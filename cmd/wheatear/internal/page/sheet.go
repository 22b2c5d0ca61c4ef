package page

import (
	"slices"
	"strings"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/render/typeset"
	"example.org/wheatear/cmd/wheatear/internal/render/view"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/tell"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/uncertain"
)

// Sheet is one reading as a page shows it: the words and figures of its telling, and
// the numbers of its document for drawing.
type Sheet struct {
	At       string       `json:"at"`
	State    string       `json:"state"`
	Kind     string       `json:"kind"`   // what the part is; empty where that is open
	Symbol   string       `json:"symbol"` // of the main element, such as Cs; empty where there is none
	Trusted  bool         `json:"trusted"`
	Refused  string       `json:"refused,omitempty"` // the codes why it is not
	Headline view.Head    `json:"headline"`
	Arrow    *Arrow       `json:"arrow"` // nil where there is nothing to draw
	Series   []Element    `json:"series"`
	Parallel []Element    `json:"parallel"`
	Best     string       `json:"best"` // series, parallel, either or empty
	Reason   string       `json:"reason"`
	Hint     string       `json:"hint"`
	Beside   []Line       `json:"beside"` // what is looked at next after the main figure
	Lines    []Line       `json:"lines"`
	Budget   []SourceLine `json:"budget"`
	Findings []view.Told  `json:"findings"`
	Verdict  *VerdictLine `json:"verdict"` // against the marking; null where none was given
}

// Arrow is the impedance with the ellipse that covers it with 95 %, in ohm.
type Arrow struct {
	Re          float64 `json:"re"`
	Im          float64 `json:"im"`
	URe         float64 `json:"u_re"`
	UIm         float64 `json:"u_im"`
	Correlation float64 `json:"correlation"`
	K           float64 `json:"k"` // times u: the ellipse
}

// Element is one element of an equivalent circuit.
type Element struct {
	Letter string `json:"letter"` // R, C or L
	Text   string `json:"text"`
	Value  string `json:"value"` // the same in two pieces: digits with the unit, and
	Half   string `json:"half"`  // the interval; empty where there is none
}

// SourceLine is one source of uncertainty: what it adds and what one can do.
type SourceLine struct {
	Source string  `json:"source"`
	Share  float64 `json:"share"` // of the variance of Re and Im together
	Text   string  `json:"text"`
	Why    string  `json:"why"`
}

// sheetOf sets the first reading of a document.
func sheetOf(doc *result.Measurement) *Sheet {
	r := &doc.Readings[0]
	z := r.Reading()
	var set typeset.Setter
	s := &Sheet{
		At: set.Value(block.PlaceHz(r.NominalHz)), State: string(r.State), Trusted: r.Trusted,
		Series: []Element{}, Parallel: []Element{}, Beside: []Line{}, Lines: []Line{}, Budget: []SourceLine{}, Findings: []view.Told{},
	}
	for _, b := range tell.Measurement(doc) {
		switch b := b.(type) {
		case block.Headline:
			s.Headline = view.Headline(b)
			for _, f := range b.Beside {
				s.Beside = append(s.Beside, Line{Name: f.Name, Text: set.Value(f.Value)})
			}
			if !r.Trusted {
				s.Headline.Name = "refused"
				for i, code := range r.Refusals() {
					if i > 0 {
						s.Refused += ", "
					}
					s.Refused += string(code)
				}
			}
		case block.Figures:
			for _, f := range b.List {
				line := Line{Name: f.Name, Text: set.Value(f.Value)}
				s.Lines = append(s.Lines, line)
				if slices.Contains([]string{"d", "q", "z_modulus_ohm", "z_phase_rad"}, f.Key) {
					s.Beside = append(s.Beside, line)
				}
			}
		case block.Findings:
			s.Findings = view.Findings(b)
		}
	}
	if !r.Trusted {
		return s
	}
	s.Kind = string(z.Dominance.Kind)
	if e, _ := r.Main.What(); r.Main != nil {
		s.Symbol = e.Symbol()
	}
	s.Verdict = verdictLine(&set, r)
	s.Arrow = arrow(z)
	s.Series, s.Parallel = elements(&set, z.Series), elements(&set, z.Parallel)
	s.Best, s.Reason, s.Hint = string(z.Fitting.Circuit), string(z.Fitting.Reason), string(z.Hint)
	for _, source := range tell.Sources(r) {
		s.Budget = append(s.Budget, SourceLine{source.Name, source.Share, set.Value(block.Number(source.Share, block.Share, 2)), source.Why})
	}
	return s
}

// arrow is the phasor; nil where nothing of it is known.
func arrow(r impedance.Reading) *Arrow {
	const region = 0.95
	if r.Re.IsAbsent() || r.Im.IsAbsent() || r.State == impedance.Open {
		return nil
	}
	a := &Arrow{Re: r.Re.Value, Im: r.Im.Value, URe: r.Re.U, UIm: r.Im.U, K: uncertain.ComplexCoverageFactor(region, 0)}
	if r.Correlation == r.Correlation { // a number
		a.Correlation = r.Correlation
	}
	return a
}

// elements lists what of an equivalent is known.
func elements(set *typeset.Setter, of impedance.Equivalent) []Element {
	out := []Element{}
	for _, kind := range []impedance.Kind{impedance.Resistor, impedance.Capacitor, impedance.Inductor} {
		e := impedance.Element{Kind: kind}
		if q := e.In(impedance.Reading{Series: of}); !q.IsAbsent() {
			v := block.Of(q, e.Unit())
			value, half := set.Apart(v)
			out = append(out, Element{e.Letter(), set.Value(v), value, strings.TrimPrefix(half, "\u00a0")})
		}
	}
	return out
}
