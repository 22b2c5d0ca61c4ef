package result

import (
	"math"

	"example.org/wheatear/audio/virtual"
	"example.org/wheatear/lockin/parts"
)

// PartsSchema is what a Parts says it is.
const PartsSchema = "wheatear.parts/1"

// Parts is the schema wheatear.parts/1: what a marking may mean, the likeliest first.
type Parts struct {
	Schema   string    `json:"schema"`
	Text     string    `json:"text"` // as marked
	Readings []Marking `json:"readings"`
}

// Marking is one reading of a marking.
type Marking struct {
	Kind       string      `json:"kind"`
	Code       parts.Code  `json:"code"`
	Words      string      `json:"words"`
	ROhm       *float64    `json:"r_ohm"` // one of these three is the value
	CF         *float64    `json:"c_f"`
	LH         *float64    `json:"l_h"`
	Tolerance  *Tolerance  `json:"tolerance"`
	Limits     *Limits     `json:"limits"`
	Tempco     *float64    `json:"tempco_ppm_per_k"`
	Link       bool        `json:"link"`
	RKM        *string     `json:"rkm"`
	Notes      []string    `json:"notes"`
	Series     []string    `json:"series"`
	Nearest    []Preferred `json:"nearest"`
	Conditions []Condition `json:"conditions"`
}

// Tolerance is how far a part may be off, relative but for AbsoluteF.
type Tolerance struct {
	Letter    *string  `json:"letter"`
	Minus     float64  `json:"minus"`
	Plus      float64  `json:"plus"`
	AbsoluteF *float64 `json:"absolute_f"`
}

// Limits are the ends of what is within tolerance.
type Limits struct {
	Low  float64 `json:"low"`
	High float64 `json:"high"`
}

// Preferred is the value of a series that is nearest, with its neighbours.
type Preferred struct {
	Series string  `json:"series"`
	Value  float64 `json:"value"`
	Below  float64 `json:"below"`
	Above  float64 `json:"above"`
}

// Condition is how a standard, or the trade, measures such a part.
type Condition struct {
	Standard string     `json:"standard"` // none for common practice
	Type     parts.Type `json:"type"`
	FreqsHz  []float64  `json:"frequencies_hz"` // 0 for direct current
	Level    string     `json:"level"`
	Bias     string     `json:"bias"`
	LargestD *float64   `json:"largest_d"` // for this value
	Limit    string     `json:"limit"`
	Source   string     `json:"source"`
	Beyond   *string    `json:"beyond"` // what a sound card cannot do of it
}

// NewParts is the document of the readings of a text. An empty type is the general one
// of the kind of part.
func NewParts(text string, t parts.Type, readings []parts.Marking) *Parts {
	doc := &Parts{Schema: PartsSchema, Text: text, Readings: []Marking{}}
	for _, m := range readings {
		doc.Readings = append(doc.Readings, marking(m, t))
	}
	return doc
}

// Value is the value and its unit.
func (m *Marking) Value() (float64, string) {
	switch {
	case m.ROhm != nil:
		return *m.ROhm, parts.Ohm.String()
	case m.CF != nil:
		return *m.CF, parts.Farad.String()
	case m.LH != nil:
		return *m.LH, parts.Henry.String()
	}
	return math.NaN(), ""
}

func marking(m parts.Marking, t parts.Type) Marking {
	d := Marking{Kind: m.Kind(), Code: m.Code, Words: m.String(), Link: m.IsLink(), Notes: listed(m.Notes), Series: []string{}, Nearest: []Preferred{}, Conditions: []Condition{}}
	switch m.Unit {
	case parts.Ohm:
		d.ROhm = &m.Value
	case parts.Farad:
		d.CF = &m.Value
	case parts.Henry:
		d.LH = &m.Value
	}
	if m.Tolerance.Given() {
		l := m.Limits()
		d.Tolerance = &Tolerance{unlessZero(m.Tolerance.Letter), m.Tolerance.Minus, m.Tolerance.Plus, unlessZero(m.Tolerance.AbsoluteF)}
		d.Limits = &Limits{l.Low, l.High}
	}
	d.Tempco = unlessZero(m.TempcoPPM)
	if d.Link {
		return d
	}
	if code, err := parts.Encode(m.Value, m.Unit, m.Tolerance); err == nil {
		d.RKM = &code
	}
	for _, s := range parts.SeriesOf(m.Value) {
		d.Series = append(d.Series, s.String())
	}
	for _, s := range parts.AllSeries() {
		below, above := s.Neighbours(m.Value)
		if n := (Preferred{s.String(), s.Nearest(m.Value), below, above}); !math.IsNaN(n.Value) {
			d.Nearest = append(d.Nearest, n)
		}
	}
	if t == "" {
		t = parts.TypeOf(m.Unit)
	}
	list, err := parts.Conditions(t, m.Value)
	if err != nil {
		return d // there are none for it
	}
	for _, c := range list {
		x := Condition{c.Standard, c.Type, listed(c.FreqsHz), c.Level, c.Bias, nil, c.Limit, c.Source, unlessZero(c.Beyond(parts.CardLowHz, parts.CardHighHz))}
		if most, ok := c.LargestD(m.Value); ok {
			x.LargestD = &most
		}
		d.Conditions = append(d.Conditions, x)
	}
	return d
}

// TraySchema is what a Tray says it is.
const TraySchema = "wheatear.simulate/1"

// Tray is the schema wheatear.simulate/1: what can be put into the simulated jig.
type Tray struct {
	Schema string     `json:"schema"`
	Parts  []TrayPart `json:"parts"`
}

// TrayPart is one part of a tray.
type TrayPart struct {
	Name    string `json:"name"`
	Circuit string `json:"circuit"` // empty for one that is described otherwise
	Note    string `json:"note"`
}

// NewTray is the document of what is in a tray.
func NewTray(list []virtual.Part) *Tray {
	doc := &Tray{Schema: TraySchema, Parts: []TrayPart{}}
	for _, p := range list {
		doc.Parts = append(doc.Parts, TrayPart{p.Name, p.Circuit, p.Note})
	}
	return doc
}

// listed turns nil into an empty list, which is what JSON readers expect.
func listed[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}

// unlessZero is nil of what is not there.
func unlessZero[T comparable](v T) *T {
	var zero T
	if v == zero {
		return nil
	}
	return &v
}
