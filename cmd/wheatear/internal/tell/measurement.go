// Package tell says in words what documents say in numbers: one function for each
// document, which gives blocks. Words stand here and in the findings, and nowhere else.
package tell

import (
	"math"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/uncertain"
)

// Measurement tells readings of one part: one in full, of several a table.
func Measurement(m *result.Measurement) []block.Block {
	var out []block.Block
	if len(m.Readings) == 1 {
		out = append(out, reading(m, &m.Readings[0])...)
	} else {
		out = append(out, block.Headline{Title: block.Say("%v, %v", source(m.RestsOn), block.Count(len(m.Readings), "frequency"))})
	}
	table := readings(m.Readings, m.Element())
	table.Hidden = len(m.Readings) == 1
	out = append(out, table)
	out = append(out, esr(m.Readings)...)
	out = append(out, verdicts(m.Readings)...)
	for i := range m.Readings {
		out = append(out, details(m, &m.Readings[i])...)
	}
	rests := provenance(m.Jig, m.Calibration, m.RestsOn)
	if m.Chosen != nil {
		rests.List = append(rests.List, chosen(m.Chosen))
	}
	return append(out, Findings(m.Findings), rests)
}

// WhyChosen says in a sentence why a frequency was chosen; nothing where it was named.
func WhyChosen(c *result.Chosen) block.Text {
	if c == nil {
		return nil
	}
	f := chosen(c)
	return block.Say("%v %v", f.Name, f.Value)
}

// chosen says why a frequency was chosen.
func chosen(c *result.Chosen) block.Figure {
	article := "a"
	if c.Kind == string(impedance.Inductor) {
		article = "an"
	}
	text := block.Say("for %v %v of about %v", article, c.Kind, block.Rough(c.Value, c.Unit))
	if c.NamedBy != "" {
		text = block.Say("%v, by %v", text, c.NamedBy)
	}
	if c.BeyondHz != nil {
		text = block.Say("%v; %v names %v, which the card does not play", text, c.BeyondBy, block.Hz(*c.BeyondHz))
	}
	return block.Figure{Key: "chosen", Name: "frequency chosen", Value: block.Value{Text: text}}
}

// source names the recordings in a few words.
func source(b *result.Basis) block.Text {
	switch {
	case b == nil || len(b.Recordings) == 0:
		return block.Say("part")
	case len(b.Recordings) == 1:
		return block.Say("%v", b.Recordings[0])
	}
	return block.Count(len(b.Recordings), "recording")
}

// reading tells one in full.
func reading(m *result.Measurement, r *result.Reading) []block.Block {
	title := block.Say("%v at %v", source(m.RestsOn), block.Hz(r.NominalHz))
	if !r.Trusted {
		return []block.Block{block.Headline{Title: block.Say("%v: %v", title, because(r))}}
	}
	z := r.Reading()
	if is := whatItIs(z); is != "" {
		title = block.Say("%v: %v", title, is)
	}
	head := block.Headline{Title: title}
	e, q := r.Main.What()
	if r.Main != nil {
		head.Main = &block.Figure{Key: "main", Name: nameOf(e, z), Value: block.Of(q, e.Unit())}
	}
	if other, q := e.Beside(z); !q.IsAbsent() {
		head.Beside = []block.Figure{element(other, z)}
	}
	head.Notes = notes(e, z)
	out := []block.Block{head, figures(r, z, e), admittance(z)}
	if z.Hint != impedance.NoHint {
		out = append(out, block.Advice{Text: []block.Text{block.Say(string(z.Hint))}})
	}
	return out
}

// because says that a reading is refused, and by which findings.
func because(r *result.Reading) block.Text {
	return block.Say("refused: %v", joined(r.Refusals(), ", "))
}

// whatItIs says what the part is, where that can be said.
func whatItIs(z impedance.Reading) string {
	if z.State == impedance.Open || z.State == impedance.Short {
		return string(z.State) + ", as far as this jig can tell"
	}
	return string(z.Dominance.Kind)
}

// kind is what the part is, or most likely is.
func kind(z impedance.Reading) impedance.Kind {
	if z.Dominance.Kind != impedance.Undecided {
		return z.Dominance.Kind
	}
	return z.Dominance.Likeliest
}

// nameOf is the name of an element: the resistance in series of a capacitor is its ESR.
func nameOf(e impedance.Element, z impedance.Reading) string {
	capacitive := kind(z) == impedance.Capacitor || !(impedance.Element{Kind: impedance.Capacitor}).In(z).IsAbsent() && z.Series.L.IsAbsent()
	switch {
	case e.Kind == impedance.Resistor && e.Circuit == impedance.SeriesCircuit && capacitive && z.State == impedance.OK:
		return "ESR"
	case e.Kind == impedance.ModulusZ || e.Kind == impedance.ModulusY:
		return e.Symbol()
	}
	return e.Words()
}

func element(e impedance.Element, z impedance.Reading) block.Figure {
	return block.Figure{Key: string(e.Circuit) + "_" + e.Key(), Name: nameOf(e, z), Value: block.Of(e.In(z), e.Unit())}
}

// notes say what outweighs what, where that is not plain from the main figure.
func notes(e impedance.Element, z impedance.Reading) []block.Text {
	if z.State != impedance.OK {
		return nil
	}
	switch other, q := e.Beside(z); {
	case z.Dominance.Kind == impedance.Undecided:
		return []block.Text{block.Say("Resistance and reactance are equal within their uncertainty: %v or resistor is left open", reactive(z))}
	case e.Kind == impedance.Resistor && z.Dominance.Kind == impedance.Resistor && !math.IsNaN(q.Value):
		return turn(e, other, q, z)
	case e.Kind != z.Dominance.Kind && e.Circuit != impedance.NoCircuit:
		return []block.Text{block.Say("Mostly a %v here: Q is %v", string(z.Dominance.Kind), block.Of(z.Q, ""))}
	}
	return nil
}

func reactive(z impedance.Reading) string {
	switch {
	case z.Im.Low > 0:
		return string(impedance.Inductor)
	case z.Im.High < 0:
		return string(impedance.Capacitor)
	}
	return "capacitor, inductor"
}

// turn says where the reactance of what is a resistor here would lead.
func turn(e, other impedance.Element, q uncertain.Quantity, z impedance.Reading) []block.Text {
	const far = 1e4 // beyond this ratio of frequencies nobody thinks of it
	hz, below := e.TurnHz(z)
	if math.IsNaN(hz) || hz > far*z.FreqHz.Value || hz < z.FreqHz.Value/far {
		return nil
	}
	side := "above"
	if below {
		side = "below"
	}
	return []block.Text{block.Say("As a %v it is %v, which leads %v about %v", string(other.Kind), block.Of(q, other.Unit()), side, block.Rough(hz, "Hz"))}
}

// figures is all else that follows from the impedance.
func figures(r *result.Reading, z impedance.Reading, main impedance.Element) block.Figures {
	var out block.Figures
	add := func(list ...block.Figure) {
		for _, f := range list {
			if f.Value.Known() {
				out.List = append(out.List, f)
			}
		}
	}
	switch z.State {
	case impedance.Open:
		add(element(impedance.Element{Kind: impedance.Resistor, Circuit: impedance.ParallelCircuit}, z), element(impedance.Element{Kind: impedance.Capacitor, Circuit: impedance.ParallelCircuit}, z))
	case impedance.Short:
		add(element(impedance.Element{Kind: impedance.Resistor, Circuit: impedance.SeriesCircuit}, z), element(impedance.Element{Kind: impedance.Inductor, Circuit: impedance.SeriesCircuit}, z))
	}
	for _, circuit := range []impedance.Circuit{impedance.SeriesCircuit, impedance.ParallelCircuit} {
		if circuit != main.Circuit {
			e := impedance.Element{Kind: kind(z), Circuit: circuit}
			other, _ := e.Beside(z)
			add(element(e, z), element(other, z))
		}
	}
	if kind(z) == impedance.Capacitor {
		add(block.Figure{Key: "d", Name: "dissipation factor D", Value: block.Of(z.D, "")})
	} else {
		add(block.Figure{Key: "q", Name: "quality factor Q", Value: block.Of(z.Q, "")})
	}
	if main.Kind != impedance.ModulusZ {
		add(block.Figure{Key: "z_modulus_ohm", Name: "|Z|", Value: block.Of(z.Modulus, "Ω")})
	}
	add(block.Figure{Key: "z_phase_rad", Name: "phase", Value: block.Of(z.Phase, "rad")},
		block.Figure{Key: "z_im_ohm", Name: "reactance X", Value: block.Of(z.Im, "Ω")})
	if level := exposure(r); len(level) > 0 {
		out.List = append(out.List, block.Figure{Key: "level", Name: "level", Value: block.Value{Text: level}})
	}
	return out
}

// admittance is what there is of Y = G + jB.
func admittance(z impedance.Reading) block.Figures {
	out := block.Figures{Full: true}
	for _, f := range []block.Figure{
		{Key: "y_modulus_s", Name: "|Y|", Value: block.Of(z.Y.Modulus, "S")},
		{Key: "y_g_s", Name: "conductance G", Value: block.Of(z.Y.G, "S")},
		{Key: "y_b_s", Name: "susceptance B", Value: block.Of(z.Y.B, "S")},
	} {
		if f.Value.Known() {
			out.List = append(out.List, f)
		}
	}
	return out
}

// exposure says what the part was exposed to, or else how much the inputs heard.
func exposure(r *result.Reading) block.Text {
	if r.Level.PartVRMS != nil && r.Level.PartARMS != nil {
		return block.Say("%v across the part, %v through it (rms)", block.Rough(*r.Level.PartVRMS, "V"), block.Rough(*r.Level.PartARMS, "A"))
	}
	var list []block.Text
	for _, input := range r.Inputs {
		list = append(list, block.Say("%v %v", dbfs(input.DBFS), input.Carries))
	}
	return block.Join(list, ", ")
}

func dbfs(db *float64) block.Value {
	v := math.Inf(-1)
	if db != nil {
		v = *db
	}
	return block.Value{Quantity: uncertain.Quantity{Value: v, Low: v, High: v}, Unit: "dBFS"}
}

// verdicts tell what the readings were judged to be.
func verdicts(list []result.Reading) []block.Block {
	var out block.Paragraphs
	for _, r := range list {
		v := r.Verdict
		if v == nil {
			continue
		}
		text := block.Say(string(v.Outcome))
		if len(list) > 1 {
			text = block.Say("%v at %v", text, block.Hz(r.NominalHz))
		}
		out.Text = append(out.Text, block.Say("%v: %v", text, verdict(v)))
	}
	if len(out.Text) == 0 {
		return nil
	}
	return []block.Block{out}
}

// verdict says what was held against what, and the risk.
func verdict(v *result.Verdict) block.Text {
	e := impedance.ElementOf(v.Quantity, impedance.Circuit(v.Circuit))
	unit := e.Unit()
	if v.Conformance == nil {
		return block.Say("%v; there is no reading to judge", v.Expected)
	}
	text := block.Say("%v (%v to %v), judged by its %v; it conforms with a probability of %v", v.Expected,
		block.Number(block.OrNaN(v.Low), unit, 6), block.Number(block.OrNaN(v.High), unit, 6), e.Words(), probability(*v.Conformance))
	switch {
	case v.Outcome == parts.Pass && v.Risk != nil:
		return block.Say("%v, and the risk of accepting a bad part is %v", text, probability(*v.Risk))
	case v.Outcome == parts.Fail && v.Risk != nil:
		return block.Say("%v, and the risk of rejecting a good part is %v", text, probability(*v.Risk))
	case v.EnoughU != nil:
		return block.Say("%v; a standard uncertainty of %v would decide", text, block.Rough(*v.EnoughU, unit))
	}
	return text
}

// probability has no more digits than 10,000 draws give, and none of certainty.
func probability(p float64) block.Text {
	switch {
	case p < 0.001:
		return block.Say("less than %v", block.Number(0.001, block.Share, 1))
	case p > 0.999:
		return block.Say("more than %v", block.Number(0.999, block.Share, 3))
	}
	return block.Say("%v", block.Number(p, block.Share, 3))
}
