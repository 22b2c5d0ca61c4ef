package report

import (
	"bytes"
	"fmt"
	"io"
	"math"

	"example.org/wheatear/cmd/wheatear/internal/plot"
	"example.org/wheatear/lockin/identify"
	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/uncertain"
)

// Identified is what identify has to tell.
type Identified struct {
	*Swept
	*identify.Identity
}

// WriteIdentified writes it for people.
func WriteIdentified(w io.Writer, i *Identified) error {
	var b bytes.Buffer
	i.begin(&b)
	fmt.Fprintln(&b)
	Wrap(&b, "", i.headline())
	fmt.Fprintln(&b)
	if rows := i.rows(); len(rows) > 0 {
		columns(&b, append([][]string{{"", ""}}, rows...)[1:], padRight)
		fmt.Fprintln(&b)
	}
	fmt.Fprintln(&b, "Why:")
	for _, reason := range i.Reasons {
		Wrap(&b, "- ", tieFigures(reason))
	}
	return i.finish(w, &b)
}

// headline is the answer.
func (i *Identified) headline() string {
	if i.Family == identify.Unknown {
		return "WHAT IT IS CANNOT BE TOLD from this sweep."
	}
	article := "A "
	switch i.Family[0] {
	case 'e':
		article = "An "
	}
	return fmt.Sprintf("%s%s, with %s confidence.", article, i.Family, i.Confidence)
}

// symbol is the letter of the value.
func symbol(u parts.Unit) string {
	return map[parts.Unit]string{parts.Ohm: "resistance", parts.Farad: "capacitance", parts.Henry: "inductance", parts.Hertz: "resonance"}[u]
}

func (i *Identified) rows() [][]string {
	var rows [][]string
	unit := i.Family.Unit()
	if unit != parts.None && valued(i.Value) {
		text := short(i.Value, unit.String())
		if i.ValueHz > 0 {
			text += " at " + place(i.ValueHz)
		}
		rows = append(rows, []string{symbol(unit), text})
	}
	if m := i.Marking; m.Series != 0 {
		rows = append(rows, []string{"nearest preferred value", fmt.Sprintf("%s (%s), from which it is off by %s", m.Text, m.Series, percentOff(m.Off))})
	}
	switch q := i.ResonanceHz; {
	case valued(q):
		rows = append(rows, []string{"self-resonance", short(q, "Hz") + i.beyond(q.Value)})
	case q.Low > 0:
		rows = append(rows, []string{"self-resonance", "above " + uncertain.Format(round3(q.Low), 0, "Hz")})
	}
	if i.HighHz > 0 {
		rows = append(rows, []string{"behaves so", fmt.Sprintf("from %s to %s, within 5 %% of the value", place(i.LowHz), place(i.HighHz))})
	}
	if i.Choice != nil {
		rows = append(rows, []string{"circuit", i.Choice.Fits[0].Result.Circuit.String()})
		for _, p := range i.Choice.Fits[0].Parameters {
			rows = append(rows, []string{"  " + p.Name, parameter(p)})
		}
	}
	return rows
}

// percentOff is a deviation with no more digits than it needs.
func percentOff(off float64) string {
	if math.Abs(off) < 5e-5 {
		return "less than 0.01 %"
	}
	return fmt.Sprintf("%+.2g %%", 100*off)
}

// beyond says so where a resonance was not seen itself.
func (i *Identified) beyond(hz float64) string {
	for _, f := range i.Data.FreqHz {
		if f >= hz {
			return ""
		}
	}
	return ", beyond the sweep"
}

// Chart draws the readings with the circuit.
func (i *Identified) Chart() *plot.Chart {
	return fitCharts(i.Swept, &i.Choice.Fits[0], i.title()+": "+string(i.Family))
}

// Plane draws them in the plane of complex numbers.
func (i *Identified) Plane() *plot.Chart {
	return planeWithFit(i.Swept, &i.Choice.Fits[0], i.title()+": "+string(i.Family))
}

// identifyDoc is the schema wheatear.identify/1.
type identifyDoc struct {
	Schema     string              `json:"schema"`
	Family     *identify.Family    `json:"family"`
	Confidence identify.Confidence `json:"confidence"`
	Reasons    []string            `json:"reasons"`
	Unit       string              `json:"unit"`
	Value      *uncertain.Quantity `json:"value"`
	ValueHz    *float64            `json:"value_hz"`
	Marking    *markDoc            `json:"marking"`
	Resonance  *uncertain.Quantity `json:"resonance_hz"`
	LowHz      *float64            `json:"behaves_from_hz"`
	HighHz     *float64            `json:"behaves_to_hz"`
	Circuit    *circuitDoc         `json:"circuit"`
	sweptDoc
}

type markDoc struct {
	Series string  `json:"series"`
	Value  float64 `json:"value"`
	Text   string  `json:"text"`
	Off    float64 `json:"off"`
}

// IdentifiedJSON writes it for programs.
func IdentifiedJSON(w io.Writer, i *Identified) error {
	doc := identifyDoc{Schema: "wheatear.identify/1", Confidence: i.Confidence, Reasons: i.Reasons, Unit: i.Family.Unit().String(),
		ValueHz: above0(i.ValueHz), LowHz: above0(i.LowHz), HighHz: above0(i.HighHz), sweptDoc: i.sweptDoc(i.Consistency)}
	if i.Family != identify.Unknown {
		doc.Family = &i.Family
	}
	if known(i.Value) {
		doc.Value = &i.Value
	}
	if known(i.ResonanceHz) {
		doc.Resonance = &i.ResonanceHz
	}
	if m := i.Marking; m.Series != 0 {
		doc.Marking = &markDoc{m.Series.String(), m.Value, m.Text, m.Off}
	}
	if i.Choice != nil {
		c := circuitDocOf(&i.Choice.Fits[0])
		doc.Circuit = &c
	}
	return writeJSON(w, doc)
}

func above0(v float64) *float64 {
	if v > 0 && !math.IsInf(v, 0) {
		return &v
	}
	return nil
}
