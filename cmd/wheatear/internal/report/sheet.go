package report

import (
	"cmp"
	"regexp"
	"slices"
	"strings"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/uncertain"
)

// Sheet is one reading in the words and figures that a page shows: texts have the
// digits that the uncertainty carries and no more, numbers are for drawing.
type Sheet struct {
	At       string       `json:"at"`
	State    string       `json:"state"`
	Kind     string       `json:"kind"` // what the part is; empty where that is open
	Trusted  bool         `json:"trusted"`
	Refused  string       `json:"refused,omitempty"` // the codes why it is not
	Headline Headline     `json:"headline"`
	Arrow    *Arrow       `json:"arrow"` // nil where there is nothing to draw
	Series   []Element    `json:"series"`
	Parallel []Element    `json:"parallel"`
	Best     string       `json:"best"` // series, parallel, either or empty
	Reason   string       `json:"reason"`
	Hint     string       `json:"hint"`
	Lines    []Line       `json:"lines"`
	Budget   []SourceLine `json:"budget"`
	Findings []Told       `json:"findings"`
}

// Headline is the value that dominates. Value and half width are apart so that a
// page can write them in different sizes.
type Headline struct {
	Name  string `json:"name"`  // such as: capacitance, in series
	Value string `json:"value"` // with its unit
	Half  string `json:"half"`  // of the 95 % interval, with its unit; may be empty
}

// Arrow is the impedance with the ellipse that holds it with 95 %, in ohm.
type Arrow struct {
	Re          float64 `json:"re"`
	Im          float64 `json:"im"`
	URe         float64 `json:"u_re"`
	UIm         float64 `json:"u_im"`
	Correlation float64 `json:"correlation"`
	K           float64 `json:"k"` // times u: the ellipse
}

// Element is one element of an equivalent.
type Element struct {
	Letter string `json:"letter"` // R, C or L
	Text   string `json:"text"`
}

// Line is a named figure.
type Line struct {
	Name string `json:"name"`
	Text string `json:"text"`
}

// SourceLine is one source of uncertainty: what it adds and what one can do.
type SourceLine struct {
	Source string  `json:"source"`
	Share  float64 `json:"share"` // of the variance of Re and Im together
	Text   string  `json:"text"`
	Why    string  `json:"why"`
}

// Told is a finding in words.
type Told struct {
	Code     string `json:"code"`
	Severity string `json:"severity"`
	Where    string `json:"where"`
	Detail   string `json:"detail"`
	Advice   string `json:"advice"`
}

// Sheet writes a reading of m. The budget is there where r has a result.
func (m *Measurement) Sheet(r *Reading) *Sheet {
	reading := r.Corrected.Reading
	s := &Sheet{
		At: place(r.NominalHz), State: string(reading.State), Trusted: r.Trusted,
		Series: []Element{}, Parallel: []Element{}, Lines: []Line{}, Budget: []SourceLine{},
		Findings: Tell(r.Findings),
	}
	if !r.Trusted {
		s.Refused = r.refused()
		s.Headline = Headline{Name: "refused", Value: "—"}
		return s
	}
	s.Kind = string(reading.Dominance.Kind)
	s.Headline, s.Arrow = headline(reading), arrow(reading)
	s.Series, s.Parallel = elements(reading.Series), elements(reading.Parallel)
	s.Best, s.Reason, s.Hint = string(reading.Fitting.Circuit), string(reading.Fitting.Reason), string(reading.Hint)
	s.Lines = m.lines(r)
	s.Budget = sourceLines(r)
	return s
}

// Main is the quantity that a reading is known by: the element that the part mostly
// is; where that is open, or where there is an open or a short, the modulus.
func Main(r impedance.Reading) (q uncertain.Quantity, unit, name string) {
	list := equivalents(r)
	switch {
	case r.State == impedance.Open || r.State == impedance.Short:
		return r.Modulus, "Ω", string(r.State) + ", as far as this jig can tell"
	case r.State != impedance.OK || r.Dominance.Kind == impedance.Undecided || len(list) == 0 || !valued(list[0].main):
		return r.Modulus, "Ω", "|Z|"
	}
	name = map[string]string{"F": "capacitance", "H": "inductance", "Ω": "resistance"}[list[0].unit]
	return list[0].main, list[0].unit, name + ", " + list[0].link
}

func headline(r impedance.Reading) Headline {
	q, unit, name := Main(r)
	if r.State == impedance.OK && r.Dominance.Kind == impedance.Undecided {
		name += open45(r)
	}
	return split(name, q, unit)
}

// open45 says between what the 45 degree line leaves it open.
func open45(r impedance.Reading) string {
	switch {
	case r.Im.Low > 0:
		return "; resistor or inductor is left open"
	case r.Im.High < 0:
		return "; resistor or capacitor is left open"
	}
	return "; what it mostly is, is left open"
}

// neat writes figures as a page sets them: with a minus sign, and degrees close to
// their number.
func neat(text string) string {
	return strings.NewReplacer("-", "\u2212", " °", "°").Replace(text)
}

// negative finds a hyphen that is a sign: before a number and not within a word.
var negative = regexp.MustCompile(`(^|[\s(±])-(\d)`)

// minus sets the signs of the numbers in a sentence.
func minus(text string) string { return negative.ReplaceAllString(text, "$1\u2212$2") }

// Polar writes an impedance as modulus and angle, with the digits that their
// uncertainty carries.
func Polar(r impedance.Reading) string {
	size, angle := split("", r.Modulus, "Ω"), split("", degrees(r.Phase), "°")
	return size.Value + " ∠ " + angle.Value
}

// Rough writes a number of which no uncertainty is told, with two digits.
func Rough(v float64, unit string) string { return rough(v, unit) }

// split takes value and half width apart.
func split(name string, q uncertain.Quantity, unit string) Headline {
	value, half, _ := strings.Cut(neat(short(q, unit)), " ± ")
	return Headline{Name: name, Value: value, Half: half}
}

// arrow is the phasor; nil where nothing of it is known.
func arrow(r impedance.Reading) *Arrow {
	const region = 0.95
	if !valued(r.Re) || !valued(r.Im) || r.State == impedance.Open {
		return nil
	}
	a := &Arrow{Re: r.Re.Value, Im: r.Im.Value, URe: r.Re.U, UIm: r.Im.U, K: uncertain.ComplexCoverageFactor(region, 0)}
	if rho := orNull(r.Correlation); rho != nil {
		a.Correlation = *rho
	}
	return a
}

// elements lists what of an equivalent is known.
func elements(e impedance.Equivalent) []Element {
	out := []Element{}
	for _, x := range []struct {
		letter, unit string
		q            uncertain.Quantity
	}{{"R", "Ω", e.R}, {"C", "F", e.C}, {"L", "H", e.L}} {
		if known(x.q) {
			out = append(out, Element{x.letter, neat(short(x.q, x.unit))})
		}
	}
	return out
}

// lines are the figures beside the headline.
func (m *Measurement) lines(r *Reading) []Line {
	out := []Line{}
	add := func(name string, q uncertain.Quantity, unit string) {
		if known(q) {
			out = append(out, Line{name, neat(short(q, unit))})
		}
	}
	reading := r.Corrected.Reading
	add("|Z|", reading.Modulus, "Ω")
	add("phase", degrees(reading.Phase), "°")
	name, q := loss(reading)
	add(name, q, "")
	add("R", reading.Re, "Ω")
	add("X", reading.Im, "Ω")
	if len(r.Observations) > 0 {
		out = append(out, Line{"at the part", m.level(r)})
	}
	return out
}

// sourceLines are the budgets of both parts of Z in one list: u² of a source is the
// sum of what it adds to either.
func sourceLines(r *Reading) []SourceLine {
	out := []SourceLine{}
	if r.Result == nil {
		return out
	}
	re, im := r.Result.Budget(fixture.OutRe), r.Result.Budget(fixture.OutIm)
	total := square(r.Result.U(fixture.OutRe)) + square(r.Result.U(fixture.OutIm))
	for _, label := range labels(re, im) {
		sum := square(added(re, label)) + square(added(im, label))
		const least = 0.005
		if part := sum / total; part >= least {
			out = append(out, SourceLine{label, part, percent(part), why(label)})
		}
	}
	slices.SortStableFunc(out, func(a, b SourceLine) int { return cmp.Compare(b.Share, a.Share) })
	return out
}

func square(x float64) float64 { return x * x }

// added is what a source adds to a budget.
func added(list []uncertain.Contribution, label string) float64 {
	for _, c := range list {
		if c.Label == label {
			return c.U
		}
	}
	return 0
}

// Tell puts findings into words, gravest first, each kind once.
func Tell(findings []finding.Finding) []Told {
	out := []Told{}
	for _, g := range ranked(findings) {
		t := Told{Code: string(g.first.Code), Severity: string(g.first.Severity),
			Where: tight.Replace(where(g.first)), Detail: minus(tight.Replace(sentence(g.first.Detail) + g.others()))}
		if g.first.Advice != nothingToDo {
			t.Advice = sentence(g.first.Advice)
		}
		out = append(out, t)
	}
	return out
}

// Place writes a frequency with as many digits as tell the points of a sweep apart.
func Place(freqHz float64) string { return place(freqHz) }

// Judged says what a verdict is about, and its risk.
func Judged(j *fixture.Judgement) string { return tight.Replace(judged(j)) }
