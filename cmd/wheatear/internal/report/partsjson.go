package report

import (
	"io"
	"math"

	"example.org/wheatear/lockin/parts"
)

// partsDoc is the schema wheatear.parts/1.
type partsDoc struct {
	Schema   string       `json:"schema"`
	Text     string       `json:"text"`
	Readings []markingDoc `json:"readings"`
}

type markingDoc struct {
	Kind       string         `json:"kind"`
	Code       parts.Code     `json:"code"`
	Words      string         `json:"words"`
	ROhm       *float64       `json:"r_ohm"`
	CF         *float64       `json:"c_f"`
	LH         *float64       `json:"l_h"`
	Tolerance  *toleranceDoc  `json:"tolerance"`
	Limits     *limitsDoc     `json:"limits"`
	Tempco     *float64       `json:"tempco_ppm_per_k"`
	Link       bool           `json:"link"`
	RKM        *string        `json:"rkm"`
	Notes      []string       `json:"notes"`
	Series     []string       `json:"series"`
	Nearest    []nearestDoc   `json:"nearest"`
	Conditions []conditionDoc `json:"conditions"`
}

type toleranceDoc struct {
	Letter    *string  `json:"letter"`
	Minus     float64  `json:"minus"`
	Plus      float64  `json:"plus"`
	AbsoluteF *float64 `json:"absolute_f"`
}

type limitsDoc struct {
	Low  float64 `json:"low"`
	High float64 `json:"high"`
}

type nearestDoc struct {
	Series string  `json:"series"`
	Value  float64 `json:"value"`
	Below  float64 `json:"below"`
	Above  float64 `json:"above"`
}

type conditionDoc struct {
	Standard string     `json:"standard"`
	Type     parts.Type `json:"type"`
	FreqsHz  []float64  `json:"frequencies_hz"`
	Level    string     `json:"level"`
	Bias     string     `json:"bias"`
	LargestD *float64   `json:"largest_d"`
	Limit    string     `json:"limit"`
	Source   string     `json:"source"`
	Beyond   *string    `json:"beyond"`
}

// PartsJSON writes readings of a marking for programs.
func PartsJSON(w io.Writer, p *Parts) error {
	doc := partsDoc{Schema: "wheatear.parts/1", Text: p.Text, Readings: []markingDoc{}}
	for _, m := range p.Readings {
		doc.Readings = append(doc.Readings, p.document(m))
	}
	return writeJSON(w, doc)
}

func (p *Parts) document(m parts.Marking) markingDoc {
	d := markingDoc{Kind: m.Kind(), Code: m.Code, Words: m.String(), Link: m.IsLink(), Notes: listed(m.Notes), Series: []string{}, Nearest: []nearestDoc{}, Conditions: []conditionDoc{}}
	*map[parts.Unit]**float64{parts.Ohm: &d.ROhm, parts.Farad: &d.CF, parts.Henry: &d.LH}[m.Unit] = &m.Value
	if t := m.Tolerance; t.Given() {
		l := m.Limits()
		d.Tolerance = &toleranceDoc{textOrNull(t.Letter), t.Minus, t.Plus, positive(t.AbsoluteF)}
		d.Limits = &limitsDoc{l.Low, l.High}
	}
	d.Tempco = positive(m.TempcoPPM)
	if m.IsLink() {
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
		if n := (nearestDoc{s.String(), s.Nearest(m.Value), below, above}); !math.IsNaN(n.Value) {
			d.Nearest = append(d.Nearest, n)
		}
	}
	d.Conditions = p.conditions(m)
	return d
}

func (p *Parts) conditions(m parts.Marking) []conditionDoc {
	out := []conditionDoc{}
	list, err := parts.Conditions(p.typeOf(m), m.Value)
	if err != nil {
		return out
	}
	for _, c := range list {
		d := conditionDoc{c.Standard, c.Type, listed(c.FreqsHz), c.Level, c.Bias, nil, c.Limit, c.Source, textOrNull(c.Beyond(parts.CardLowHz, parts.CardHighHz))}
		if most, ok := c.LargestD(m.Value); ok {
			d.LargestD = &most
		}
		out = append(out, d)
	}
	return out
}

func textOrNull(s string) *string {
	if s == "" {
		return nil
	}
	return &s
}

func positive(v float64) *float64 {
	if v == 0 {
		return nil
	}
	return &v
}
