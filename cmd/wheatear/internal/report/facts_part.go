package report

import (
	"encoding/json"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"example.org/wheatear/lockin/circuit"
	"example.org/wheatear/lockin/impedance"
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

func (f *facts) compare(result json.RawMessage) {
	doc := decode[compareDoc](result)
	f.section("")
	if doc.Verdict != "" {
		f.fact("verdict", string(doc.Verdict))
	}
	if doc.Matters != nil {
		f.fact("what matters", fmt.Sprintf("%.3g %% or more", 100**doc.Matters))
	}
	rows := [][]string{{"", "", "good", "in doubt", "difference", "chance"}}
	for _, d := range doc.Differences {
		row := []string{nominal(d.FreqHz), string(d.Verdict), sideAt(doc.Good, d), sideAt(doc.Readings, d), "not to be trusted", ""}
		if d.Relative != nil && known(*d.Relative) {
			row[4] = minus(signed(*d.Relative, 100, "%"))
		}
		if d.Chance != nil {
			row[5] = byChance(*d.Chance)
		}
		rows = append(rows, row)
	}
	f.table(rows)
	if len(rows) > 1 {
		f.say(differencesNote)
	}
	f.findings(doc.Findings)
	f.setting(&doc.Jig, doc.Calibration, nil)
}

// sideAt is the main quantity of one of two parts that are compared.
func sideAt(list []readingDoc, d differenceDoc) string {
	i := slices.IndexFunc(list, func(r readingDoc) bool { return r.NominalHz == d.FreqHz })
	if i < 0 || d.Quantity == nil || !list[i].Trusted {
		return "—"
	}
	circuit := impedance.SeriesCircuit
	if d.Circuit != nil {
		circuit = *d.Circuit
	}
	e := impedance.ElementOf(*d.Quantity, circuit)
	q := e.In(list[i].Reading())
	if !valued(q) {
		return "—"
	}
	return uncertain.Format(round3(q.Value), 0, e.Unit())
}

func (f *facts) level(text json.RawMessage) {
	doc := decode[levelsDoc](text)
	f.section("")
	if doc.Kind != nil {
		f.fact("kind", string(*doc.Kind), string(zero(doc.Confidence))+" confidence")
	} else {
		f.say("Too few readings can be trusted to tell how it depends on level")
	}
	if doc.Zero != nil && doc.Quantity != nil {
		f.quantity(*doc.Quantity+" at level zero", *doc.Zero, or(doc.Unit, ""))
	}
	if doc.Law != nil {
		law := string(*doc.Law)
		if doc.Change == nil || doc.ChangeU == nil {
			f.fact("with level", law)
		} else {
			f.fact("with level", law, "at the highest level "+changed(*doc.Change, *doc.ChangeU))
		}
	}
	if v := doc.Onset.PartVRMS; v != nil {
		f.fact("departs from", f.volts(*v)+" on")
	}
	for _, r := range doc.Reasons {
		if r != "" {
			f.say(upper(r))
		}
	}
	f.levels(doc)
	f.findings(doc.Findings)
	f.setting(&doc.Jig, doc.Calibration, doc.Part)
}

// changed says what has become of a value.
func changed(change, u float64) string {
	q := uncertain.Quantity{Value: 100 * change, U: 100 * u, Low: 100 * (change - 1.96*u), High: 100 * (change + 1.96*u)}
	return minus(signed(q, 1, "%"))
}

// levels are the readings, lowest level first.
func (f *facts) levels(doc *levelsDoc) {
	if len(doc.Readings) == 0 {
		return
	}
	f.section("Readings at " + place(doc.Readings[0].NominalHz))
	result.SetMain(doc.Readings, impedance.Element{})
	e := result.ElementOf(doc.Readings)
	rows := [][]string{{"at the part", e.Words(), "2nd", "3rd", "D"}}
	for i := range doc.Readings {
		d := &doc.Readings[i]
		row := []string{"", told(d, e), "", "", ""}
		if v := d.Level.PartVRMS; v != nil {
			row[0] = f.volts(*v)
		}
		if d.Trusted && known(d.D) && math.Abs(d.D.Value) < 10 {
			row[4] = once(short(d.D, ""))
		}
		if i < len(doc.Harmonics) {
			for _, h := range doc.Harmonics[i] {
				if h.Order == 2 || h.Order == 3 {
					row[h.Order] = harmonicOf(h)
				}
			}
		}
		rows = append(rows, row)
	}
	f.table(rows)
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

// told is what a reading shows of the element that all are told by.
func told(d *readingDoc, e impedance.Element) string {
	if q := e.In(d.Reading()); known(q) {
		return neat(once(short(q, e.Unit())))
	}
	return string(d.State)
}
