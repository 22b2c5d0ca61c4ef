package tell

import (
	"fmt"
	"math"
	"strings"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/render/typeset"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/predict"
	"example.org/wheatear/lockin/spectrum"
)

// Planned is a plan with the jig that it is for. The document has its words.
type Planned struct {
	Jig   *fixture.Jig
	Setup *predict.Setup
	Plan  *predict.Plan
}

// worded sets a text for a document: whoever shows it breaks it as there is room.
func worded(t block.Text) string {
	return strings.ReplaceAll((&typeset.Setter{}).Text(t), "\u00a0", " ")
}

// Meant says how the part was read.
func (p Planned) Meant() string {
	part := p.Plan.Wish.Part
	name := map[impedance.Kind]string{impedance.Resistor: "a resistor of ", impedance.Capacitor: "a capacitor of ", impedance.Inductor: "an inductor of "}[part.Kind]
	return worded(block.Say("%v%v", name, exact(part.Value, part.Type.Unit().String())))
}

// exact is a nominal value, with all the digits that it is given with.
func exact(v float64, unit string) block.Value { return block.Number(v, unit, 7) }

// Assumed is what the prediction rests on.
func (p Planned) Assumed() string {
	load := fixture.Load{Ohm: p.Plan.Choices[0].ReferenceOhm, Tolerance: p.Jig.ReferenceTolerance}
	if p.Setup.Load != nil {
		load = *p.Setup.Load
	}
	return worded(block.Say("noise of %v and hum of %v, a load of %v, and what the jig file and its verification say",
		played(p.Setup.Card.NoiseRMS[0]), played(p.Setup.Card.HumRMS[0]), load.String()))
}

// played is an amplitude re full scale.
func played(peak float64) block.Value {
	if peak <= 0 {
		return block.Word("none")
	}
	return block.Number(spectrum.AmplitudeDB(peak), "dBFS", 3)
}

// Words is a choice in words.
func (p Planned) Words(c predict.Choice) result.ChoiceWords {
	return result.ChoiceWords{
		Reference: worded(block.Say("%v", exact(c.ReferenceOhm, "Ω"))),
		Frequency: worded(block.Say("%v", hertz(c))),
		Level:     worded(block.Say("%v", played(c.Peak))),
		Record:    worded(block.Say("%v", block.Number(c.Seconds, "s", 3))),
		HalfWidth: worded(halfWidth(c.Half)),
		Why:       worded(p.why(c)),
		AtPart:    worded(p.level(c)),
		ReadAs:    circuitOf(c),
		Verdict:   worded(p.verdict(c)),
	}
}

// hertz is the frequency of a choice: what was moved is no round number.
func hertz(c predict.Choice) block.Value {
	if c.MovedFromHz == 0 {
		return block.Hz(c.FreqHz)
	}
	return block.Number(c.FreqHz, "Hz", 4)
}

// halfWidth is a relative half-width of the 95 % interval.
func halfWidth(half float64) block.Text {
	if math.IsInf(half, 0) {
		return block.Say("no reading")
	}
	return block.Say("± %v", block.Rough(half, block.Share))
}

// why says who means the frequency for the part, and where that was read.
func (p Planned) why(c predict.Choice) block.Text {
	cond, known := c.Condition(p.Plan.Wish.Part)
	moved := c.MovedFromHz != 0
	from := block.Say("moved off the mains from %v: that is ", block.Hz(c.MovedFromHz))
	switch {
	case !known:
		return block.Say("as asked for")
	case cond.Standard == "none" && moved:
		return block.Say("%vcommon practice for such a part", from)
	case cond.Standard == "none":
		return block.Say("common practice for such a part")
	case moved:
		return block.Say("%vwhat %v means (%v)", from, cond.Standard, cond.Source)
	}
	return block.Say("as %v has it (%v)", cond.Standard, cond.Source)
}

// level is what is played, what the part will be exposed to, and why.
func (p Planned) level(c predict.Choice) block.Text {
	v, by := c.Corrected.Level.VoltRMS, c.Level
	if math.IsNaN(v) || v == 0 {
		return block.Say("%v; give full_scale in the jig file to know it in volts", played(c.Peak))
	}
	text := block.Say("%v, which is about %v across the part", played(c.Peak), block.Rough(v, "V"))
	switch {
	case by.Source == "":
		return text
	case by.Source == "junctions":
		return block.Say("%v, below what turns junctions on", text)
	case by.Within:
		return block.Say("%v, as %v has it", text, by.Source)
	}
	return block.Say("%v; %v asks for %v, which is beyond this card and reference", text, by.Source, exact(by.VoltRMS.Low, "V"))
}

// circuitOf is the equivalent circuit that suits the part there.
func circuitOf(c predict.Choice) string {
	f := c.Corrected.Reading.Fitting
	switch {
	case f.Circuit == "":
		return "series or parallel: no matter"
	case f.Reason != "":
		return string(f.Circuit) + ": " + string(f.Reason)
	}
	return string(f.Circuit)
}

// verdict says whether what is wanted is reached, and if not, how near it comes.
func (p Planned) verdict(c predict.Choice) block.Text {
	best, longer := p.Plan.Choices[0], p.Plan.Longer
	wish := block.Say("± %v", block.Number(p.Plan.Wish.Want, block.Share, 3))
	switch want := p.Plan.Wish.Want; {
	case math.IsInf(c.Half, 0):
		return block.Say("No reading: the part is out of reach of this reference")
	case want == 0 && longer != nil && c.ReferenceOhm == best.ReferenceOhm && c.FreqHz == best.FreqHz:
		return block.Say("%v; a record of %v would bring %v, more gains little", halfWidth(c.Half), block.Number(longer.Seconds, "s", 3), halfWidth(longer.Half))
	case want == 0:
		return halfWidth(c.Half)
	case c.Reached:
		return block.Say("%v is reached", wish)
	}
	return block.Say("%v is not reached, however long the record", wish)
}

// Remedy says what a change would bring.
func (p Planned) Remedy(r predict.Remedy) string {
	c := r.Choice
	ohm, load := exact(c.ReferenceOhm, "Ω"), block.Text(nil)
	if r.Load != nil {
		load = block.Say("a load of %v known to %v", exact(r.Load.Ohm, "Ω"), block.Number(r.Load.Tolerance, block.Share, 3))
	}
	change := block.Say("together, a reference of %v at %v", ohm, hertz(c))
	switch {
	case r.Change == predict.OtherReference:
		change = block.Say("a reference of %v", ohm)
	case r.Change == predict.OtherFrequency:
		change = block.Say("at %v", hertz(c))
	case r.Change == predict.BetterLoad:
		change = block.Say("calibrated with %v", load)
	case load != nil:
		change = block.Say("%v and %v", change, load)
	}
	return worded(block.Say("%v: %v with %v", change, halfWidth(c.Half), block.Number(c.Seconds, "s", 3)))
}

// Changes are what is to be done to the jig and its file before a choice can be used.
func (p Planned) Changes(c predict.Choice) []string {
	out := []string{}
	const same = 0.01 // a resistor that was measured is the one in the drawer still
	if math.Abs(c.ReferenceOhm/p.Jig.ReferenceOhm-1) > same {
		out = append(out, worded(block.Say("The reference is %v now: put %v in its place, write reference = %v and its reference_tolerance into the jig file, and calibrate anew.",
			exact(p.Jig.ReferenceOhm, "Ω"), exact(c.ReferenceOhm, "Ω"), fmt.Sprintf("%q", parts.FormatValue(c.ReferenceOhm, parts.None)))))
	}
	if c.Seconds != p.Setup.Card.Seconds {
		out = append(out, worded(block.Say("Records are %v long now: write seconds = %v under [card] in the jig file.", block.Number(p.Setup.Card.Seconds, "s", 3), fmt.Sprint(c.Seconds))))
	}
	return out
}
