package report

import (
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"strings"

	"example.org/wheatear/lockin/circuit"
	"example.org/wheatear/lockin/incircuit"
	"example.org/wheatear/lockin/uncertain"
)

func (f *facts) identify(result json.RawMessage) {
	doc := decode[identifyDoc](result)
	f.section("")
	if doc.Family == nil || *doc.Family == "" {
		f.fact("it is", "not to be told from this sweep")
	} else {
		f.fact("it is", string(*doc.Family), string(doc.Confidence)+" confidence")
	}
	if doc.Value != nil && valued(*doc.Value) {
		var at []string
		if doc.ValueHz != nil {
			at = []string{"at " + place(*doc.ValueHz)}
		}
		name := map[string]string{"Ω": "resistance", "F": "capacitance", "H": "inductance", "Hz": "resonance"}[doc.Unit]
		f.quantity(name, *doc.Value, doc.Unit, at...)
	}
	if m := doc.Marking; m != nil {
		f.fact("nearest preferred value", m.Text, m.Series, minus(fmt.Sprintf("off by %+.2g %%", 100*m.Off)))
	}
	if q := doc.Resonance; q != nil && valued(*q) {
		f.quantity("self-resonance", *q, "Hz")
	} else if q != nil && q.Low > 0 {
		f.fact("self-resonance", "above "+uncertain.Format(round3(q.Low), 0, "Hz"))
	}
	if doc.LowHz != nil && doc.HighHz != nil {
		f.fact("behaves so", place(*doc.LowHz)+" to "+place(*doc.HighHz), "within 5 % of the value")
	}
	f.section("Why")
	for _, r := range doc.Reasons {
		f.say(r)
	}
	if doc.Circuit != nil {
		f.circuit("Circuit ", doc.Circuit)
	}
	f.swept(&doc.sweptDoc)
}

func (f *facts) fit(result json.RawMessage) {
	doc := decode[fitDoc](result)
	f.section("")
	if len(doc.Circuits) > 1 {
		f.say(upper(doc.Words))
	}
	if doc.Allowed > 0 {
		f.say("No circuit agrees with the sweep within the uncertainty of the readings: each point was allowed " + percentOf(doc.Allowed) + " of |Z| for what a circuit lacks")
	}
	if len(doc.Circuits) > 1 {
		rows := [][]string{{"", "χ² of ν", "criterion", ""}}
		for i := range doc.Circuits {
			c := &doc.Circuits[i]
			ranked := circuit.Ranked{Delta: zero(c.Delta), Rival: c.Rival}
			ranked.Result = &circuit.Result{Agreement: c.Agreement}
			rows = append(rows, []string{c.Name, figure(c.ChiSquare, "%.4g") + " of " + strconv.Itoa(c.Dof), figure(c.Delta, "+%.1f"), standing(ranked)})
		}
		f.table(rows)
	}
	for i := range doc.Circuits {
		if c := &doc.Circuits[i]; i == 0 || c.Rival {
			f.circuit("Circuit ", c)
		}
	}
	f.swept(&doc.sweptDoc)
}

// figure is a number that may not be there.
func figure(v *float64, form string) string {
	if v == nil {
		return "—"
	}
	return fmt.Sprintf(form, *v)
}

// circuit tells a circuit with its values.
func (f *facts) circuit(title string, c *circuitDoc) {
	if c.Name != "" && c.Name != c.Circuit {
		title += c.Name + ": "
	}
	f.section(title + c.Circuit)
	for _, u := range c.Unknowns {
		p := circuit.Parameter{State: u.State, Quantity: uncertain.Absent(), Estimate: zero(u.Estimate)}
		p.Unit = u.Unit
		if u.Value != nil {
			p.Quantity = *u.Value
		}
		if u.Value != nil || u.State == circuit.Undetermined || u.State == circuit.AtBound {
			f.fact(u.Name, neat(parameter(p)))
		}
	}
	if c.Rms != nil {
		f.fact("residuals", percentOf(*c.Rms)+" of |Z| rms", string(c.Agreement))
	}
	for _, n := range c.Notes {
		if n.Code != circuit.NoteDisagrees && n.Code != circuit.NoteUndetermined {
			f.say(minus(upper(n.Detail) + ": " + n.Advice))
		}
	}
}

// swept tells what a fitted sweep was.
func (f *facts) swept(doc *sweptDoc) {
	f.section("The sweep")
	f.fact("points used", strconv.Itoa(doc.Points))
	if doc.Consistency != nil {
		f.fact("Kramers–Kronig", string(doc.Consistency.Verdict), strings.TrimSuffix(doc.Consistency.Words, "."))
	}
	f.fact("Touchstone file", or(doc.Touchstone, ""))
	f.readings("Readings", doc.Readings)
	f.findings(doc.Findings)
	f.setting(doc.Jig, doc.Calibration, doc.Part)
}

func (f *facts) incircuit(result json.RawMessage) {
	doc := decode[spotDoc](result)
	f.section("")
	letter := map[string]string{"F": "C", "H": "L", "Ω": "R"}[doc.Unit]
	if doc.Told && doc.Value != nil && letter != "" {
		f.quantity(letter+" of the part", *doc.Value, doc.Unit)
		if doc.Series != nil {
			f.quantity("series resistance of the part", *doc.Series, "Ω")
		}
		f.say(upper(doc.Verdict))
	} else {
		f.fact("the part", "undetermined in circuit")
	}
	f.say(upper(doc.Why))
	f.say(upper(doc.Assumed))
	if v := doc.Conducts.PartVRMS; v != nil {
		f.fact("something depends on level", "from "+f.volts(*v)+" on")
	}
	if doc.Told && doc.BestHz != nil && doc.Share != nil {
		f.fact("one reading is best at", place(*doc.BestHz), fmt.Sprintf("%.0f %% of what is seen there is the part", 100**doc.Share))
	}
	f.networks(doc)
	f.wear(doc)
	f.readings("Readings", doc.Readings)
	f.findings(doc.Findings)
	f.setting(&doc.Jig, doc.Calibration, doc.Part)
}

// networks are those that were tried, and what single readings would have shown.
func (f *facts) networks(doc *spotDoc) {
	a := &incircuit.Answer{}
	for _, m := range doc.Models {
		a.Models = append(a.Models, &incircuit.Model{Around: incircuit.Family(m.Around), Circuit: m.Circuit, Chance: orNaN(m.Chance), Weight: m.Weight})
	}
	for _, x := range doc.Misleading {
		a.Misleading = append(a.Misleading, incircuit.Apparent{FreqHz: x.FreqHz, Value: orNaN(x.Value), Off: orNaN(x.Off)})
	}
	s := &Spot{Unit: doc.Unit, Answer: a}
	f.section("Networks that were tried")
	rows := [][]string{{"", "weight", "chance"}}
	f.table(append(rows, s.networks()...))
	if len(a.Models) > 0 {
		f.say("Chance is that of the readings if it is the one")
	}
	if doc.Told && len(a.Misleading) > 0 {
		f.section("What a single reading would have shown")
		f.table(signs(s.misleading()))
	}
}

// wear is how worn the part is.
func (f *facts) wear(doc *spotDoc) {
	f.section("Wear, by usual limits")
	for _, h := range doc.Health {
		f.fact(h.What, string(h.Outcome), h.Basis)
	}
}

// orNaN is a number that may not exist.
func orNaN(v *float64) float64 {
	if v == nil {
		return math.NaN()
	}
	return *v
}
