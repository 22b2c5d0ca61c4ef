package report

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"math/cmplx"

	"example.org/wheatear/cmd/wheatear/internal/plot"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/predict"
	"example.org/wheatear/lockin/uncertain"
)

// Planning is what plan has to tell.
type Planning struct {
	Jig       *fixture.Jig
	Text      string // the part as it was asked for
	Setup     *predict.Setup
	Plan      *predict.Plan
	InCircuit bool
}

const planLines = 8 // choices shown

// WritePlanning writes it for people.
func WritePlanning(w io.Writer, p *Planning) error {
	var b bytes.Buffer
	best := p.Plan.Choices[0]
	Wrap(&b, "", p.Jig.Name+", for "+p.Text)
	fmt.Fprintln(&b)
	line := func(name, text string) { Wrap(&b, "  "+padRight(name, 12), text) }
	line("frequency", nominal(best.FreqHz)+p.standard(best.FreqHz))
	line("reference", uncertain.Format(best.ReferenceOhm, 0, "Ω"))
	line("level", p.level(best))
	line("record", fmt.Sprintf("%.3g s of steady tone", best.Seconds))
	line("read as", p.circuit(best))
	line("comes to", p.comesTo(best))
	if len(best.Limits) > 0 {
		line("limited by", p.limits(best))
	}
	for _, text := range best.Warnings(p.Plan.Wish.Part, p.volts(best), p.InCircuit) {
		line("mind", text)
	}
	if len(p.Plan.Choices) > 1 {
		fmt.Fprintln(&b, "\nOther choices:")
		rows := [][]string{{"reference", "frequency", "comes to", "limited by"}}
		for _, c := range p.Plan.Choices[1:min(planLines, len(p.Plan.Choices))] {
			limit := ""
			if len(c.Limits) > 0 {
				limit = c.Limits[0].Label
			}
			rows = append(rows, []string{uncertain.Format(c.ReferenceOhm, 0, "Ω"), nominal(c.FreqHz), halfText(c.Half), limit})
		}
		columns(&b, rows, padLeft)
	}
	fmt.Fprintln(&b)
	Wrap(&b, "", fmt.Sprintf("± is half of the 95 %% interval. Assumed: noise of %s, a load of %s, and what the jig file and its verification say.",
		Tie(fmt.Sprintf("%.0f dBFS", 20*math.Log10(p.Setup.Card.NoiseRMS[0]))), p.load(best)))
	_, err := w.Write(b.Bytes())
	return err
}

func (p *Planning) load(c predict.Choice) string {
	if p.Setup.Load != nil {
		return p.Setup.Load.String()
	}
	return fixture.Load{Ohm: c.ReferenceOhm, Tolerance: p.Jig.ReferenceTolerance}.String()
}

// standard says who means this frequency for the part.
func (p *Planning) standard(hz float64) string {
	list, err := parts.Conditions(p.Plan.Wish.Part.Type, p.Plan.Wish.Part.Value)
	if err != nil {
		return ""
	}
	for _, c := range list {
		for _, f := range c.FreqsHz {
			if math.Abs(f/hz-1) < 1e-6 {
				if c.Standard == "none" {
					return ", common practice for such a part"
				}
				return ", as " + c.Standard + " has it"
			}
		}
	}
	return ""
}

func (p *Planning) volts(c predict.Choice) float64 {
	if v := c.Corrected.Level.VoltRMS; !math.IsNaN(v) {
		return v
	}
	return 0
}

// level is what the part will be exposed to.
func (p *Planning) level(c predict.Choice) string {
	text := fmt.Sprintf("%.0f dBFS", 20*math.Log10(p.Setup.Card.Peak))
	if v := p.volts(c); v > 0 {
		return text + fmt.Sprintf(", which is about %s across the part", Tie(uncertain.Format(round2(v), 0, "V")))
	}
	return text + "; give full_scale in the jig file to know it in volts"
}

func round2(v float64) float64 {
	if v == 0 {
		return 0
	}
	d := math.Pow(10, math.Floor(math.Log10(math.Abs(v)))-1)
	return round3(math.Round(v/d) * d)
}

// circuit is the equivalent that suits the part there.
func (p *Planning) circuit(c predict.Choice) string {
	r := c.Corrected.Reading
	if r.Fitting.Circuit == "" {
		return "series or parallel: no matter"
	}
	text := string(r.Fitting.Circuit)
	if r.Fitting.Reason != "" {
		text += ": " + string(r.Fitting.Reason)
	}
	return text
}

func (p *Planning) comesTo(c predict.Choice) string {
	text := halfText(c.Half)
	switch {
	case math.IsInf(c.Half, 0):
		return "no reading: the part is out of reach of this reference"
	case p.Plan.Wish.Want > 0 && c.Reached:
		return text + ", as wanted"
	case p.Plan.Wish.Want > 0:
		return text + fmt.Sprintf("; %.3g %% is out of reach however long the record", 100*p.Plan.Wish.Want)
	}
	return text
}

func halfText(half float64) string {
	if math.IsInf(half, 0) {
		return "no reading"
	}
	return fmt.Sprintf("± %.2g %%", 100*half)
}

// limits are the first three terms.
func (p *Planning) limits(c predict.Choice) string {
	text := ""
	for i, l := range c.Limits {
		if i == 3 || l.Share < 0.02 {
			break
		}
		if i > 0 {
			text += ", "
		}
		text += l.Label + " " + Tie(percent(l.Share))
	}
	return text
}

// Chart is what the jig can read over frequency and impedance, with each reference.
func (p *Planning) Chart() (*plot.Chart, error) {
	const points, lowHz = 9, 20.0
	highHz := math.Min(20e3, 0.4*p.Setup.Card.RateHz)
	part := p.Plan.Wish.Part
	low, high := 1e-2, 1e7
	c := &plot.Chart{Title: "What " + p.Jig.Name + " can read", Note: "between the lines of one kind |Z| is known to 0.1 %, 1 % or 10 % (95 %)",
		X: plot.Scale{Name: "frequency", Unit: "Hz", Log: true, Low: lowHz, High: highHz}}
	for _, ohm := range p.Plan.Wish.ReferenceOhm {
		panel, err := p.reach(ohm, lowHz, highHz, low, high, points)
		if err != nil {
			return nil, err
		}
		panel.Series = append(panel.Series, constant(lowHz, highHz)...)
		if part.Value > 0 {
			panel.Series = append(panel.Series, p.locus(part, lowHz, highHz))
		}
		c.Panels = append(c.Panels, *panel)
	}
	return c, nil
}

// reach is the panel of one reference.
func (p *Planning) reach(ohm, lowHz, highHz, low, high float64, points int) (*plot.ChartPanel, error) {
	setup, jig := *p.Setup, *p.Setup.Jig
	jig.ReferenceOhm = ohm
	setup.Jig = &jig
	m, err := setup.NewMap(lowHz, highHz, low, high, 3*points)
	if err != nil {
		return nil, err
	}
	panel := &plot.ChartPanel{Y: plot.Scale{Name: "|Z| with a reference of " + uncertain.Format(ohm, 0, "Ω"), Unit: "Ω", Log: true, Low: low, High: high}}
	for _, r := range []struct {
		name  string
		half  float64
		style plot.Style
	}{{"10 %", 0.1, plot.Area}, {"1 %", 0.01, plot.Line}, {"0.1 %", 0.001, plot.Dashed}} {
		from, to := m.Reach(r.half)
		if r.style == plot.Area {
			s := plot.Series{Name: "within " + r.name, X: m.FreqsHz, Style: plot.Area}
			for i := range from {
				s.Y = append(s.Y, uncertain.Quantity{Value: math.Sqrt(from[i] * to[i]), Low: from[i], High: to[i]})
			}
			panel.Series = append(panel.Series, s)
			continue
		}
		panel.Series = append(panel.Series,
			plot.Series{Name: "within " + r.name, X: m.FreqsHz, Y: plot.Exactly(from), Style: r.style},
			plot.Series{X: m.FreqsHz, Y: plot.Exactly(to), Style: r.style})
	}
	return panel, nil
}

// constant are lines of constant capacitance and inductance, a factor of a thousand
// apart.
func constant(lowHz, highHz float64) []plot.Series {
	var out []plot.Series
	add := func(text string, z func(w float64) float64) {
		s := plot.Series{Style: plot.Guide, Name: ""}
		s.Text = text
		for _, hz := range []float64{lowHz, highHz} {
			s.X = append(s.X, hz)
			s.Y = append(s.Y, plot.Exactly([]float64{z(2 * math.Pi * hz)})...)
		}
		out = append(out, s)
	}
	for _, farad := range []float64{10e-12, 10e-9, 10e-6, 10e-3} {
		add(uncertain.Format(farad, 0, "F"), func(w float64) float64 { return 1 / (w * farad) })
	}
	for _, henry := range []float64{1e-6, 1e-3, 1} {
		add(uncertain.Format(henry, 0, "H"), func(w float64) float64 { return w * henry })
	}
	return out
}

// locus is the part over frequency.
func (p *Planning) locus(part predict.Part, lowHz, highHz float64) plot.Series {
	s := plot.Series{Name: "the part", Style: plot.Band}
	for i := range 90 {
		hz := lowHz * math.Pow(highHz/lowHz, float64(i)/89)
		s.X = append(s.X, hz)
		s.Y = append(s.Y, plot.Exactly([]float64{cmplx.Abs(part.Impedance(hz))})...)
	}
	return s
}

// Reach is the same of a jig without a part, with its own reference.
func Reach(jig *fixture.Jig, setup *predict.Setup) (*plot.Chart, error) {
	p := &Planning{Jig: jig, Setup: setup, Plan: &predict.Plan{Wish: predict.Wish{ReferenceOhm: []float64{jig.ReferenceOhm}}}}
	return p.Chart()
}

// planningDoc is the schema wheatear.plan/1.
type planningDoc struct {
	Schema  string      `json:"schema"`
	Part    string      `json:"part"`
	Jig     string      `json:"jig"`
	Wanted  *float64    `json:"wanted"`
	Choices []choiceDoc `json:"choices"`
}

type choiceDoc struct {
	ReferenceOhm float64           `json:"reference_ohm"`
	FreqHz       float64           `json:"frequency_hz"`
	Seconds      float64           `json:"seconds"`
	HalfWidth    *float64          `json:"half_width"`
	Reached      bool              `json:"reached"`
	Circuit      impedance.Circuit `json:"circuit"`
	Limits       []sourceDoc       `json:"limits"`
	Warnings     []string          `json:"warnings"`
	Level        levelDoc          `json:"level"`
}

// PlanningJSON writes it for programs.
func PlanningJSON(w io.Writer, p *Planning) error {
	doc := planningDoc{Schema: "wheatear.plan/1", Part: p.Text, Jig: p.Jig.Name, Choices: []choiceDoc{}}
	if p.Plan.Wish.Want > 0 {
		doc.Wanted = &p.Plan.Wish.Want
	}
	for _, c := range p.Plan.Choices {
		d := choiceDoc{ReferenceOhm: c.ReferenceOhm, FreqHz: c.FreqHz, Seconds: c.Seconds, HalfWidth: orNull(c.Half), Reached: c.Reached,
			Circuit: c.Corrected.Reading.Fitting.Circuit, Limits: []sourceDoc{}, Warnings: listed(c.Warnings(p.Plan.Wish.Part, p.volts(c), p.InCircuit)),
			Level: levelDoc{orNull(c.Corrected.Level.VoltRMS), orNull(c.Corrected.Level.AmpereRMS)}}
		for _, l := range c.Limits {
			d.Limits = append(d.Limits, sourceDoc{l.Label, l.U, l.Share})
		}
		doc.Choices = append(doc.Choices, d)
	}
	return writeJSON(w, doc)
}
