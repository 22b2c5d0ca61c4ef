package report

import (
	"fmt"
	"math"
	"strconv"

	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/predict"
	"example.org/wheatear/lockin/uncertain"
)

// Planning is what plan has to tell.
type Planning struct {
	Jig   *fixture.Jig
	Text  string // the part as it was asked for
	Setup *predict.Setup
	Plan  *predict.Plan
	Reach bool // with what the jig can read
}

// meant says how the part was read.
func (p *Planning) meant() string {
	part := p.Plan.Wish.Part
	name := map[impedance.Kind]string{impedance.Resistor: "a resistor of ", impedance.Capacitor: "a capacitor of ", impedance.Inductor: "an inductor of "}[part.Kind]
	return name + Tie(uncertain.Format(part.Value, 0, part.Type.Unit().String()))
}

// assumed is what the prediction rests on.
func (p *Planning) assumed() string {
	return fmt.Sprintf("noise of %s and hum of %s, a load of %s, and what the jig file and its verification say",
		playedAt(p.Setup.Card.NoiseRMS[0]), playedAt(p.Setup.Card.HumRMS[0]), p.load(p.Plan.Choices[0]))
}

func (p *Planning) load(c predict.Choice) string {
	if p.Setup.Load != nil {
		return p.Setup.Load.String()
	}
	return fixture.Load{Ohm: c.ReferenceOhm, Tolerance: p.Jig.ReferenceTolerance}.String()
}

// standard says who means this frequency for the part, and where that was read.
func (p *Planning) standard(c predict.Choice) string {
	cond, ok := c.Condition(p.Plan.Wish.Part)
	text, means := ", ", "as "
	if c.MovedFromHz != 0 {
		text, means = ", moved off the mains from "+nominal(c.MovedFromHz)+": that is ", ""
	}
	switch {
	case !ok:
		return ""
	case cond.Standard == "none":
		return text + "common practice for such a part"
	case means == "":
		return text + "what " + cond.Standard + " means (" + cond.Source + ")"
	}
	return text + means + cond.Standard + " has it (" + cond.Source + ")"
}

// hertz writes the frequency of a choice: what was moved is no round number.
func hertz(c predict.Choice) string {
	if c.MovedFromHz == 0 {
		return nominal(c.FreqHz)
	}
	four, err := strconv.ParseFloat(strconv.FormatFloat(c.FreqHz, 'e', 3, 64), 64)
	if err != nil {
		four = c.FreqHz
	}
	return nominal(four)
}

func (p *Planning) volts(c predict.Choice) float64 {
	if v := c.Corrected.Level.VoltRMS; !math.IsNaN(v) {
		return v
	}
	return 0
}

// level is what is played, what the part will be exposed to, and why.
func (p *Planning) level(c predict.Choice) string {
	text := playedAt(c.Peak)
	v := p.volts(c)
	if v == 0 {
		return text + "; give full_scale in the jig file to know it in volts"
	}
	text += fmt.Sprintf(", which is about %s across the part", Tie(uncertain.Format(round2(v), 0, "V")))
	switch a := c.Level; {
	case a.Source == "":
		return text
	case a.Source == "junctions":
		return text + ", below what turns junctions on"
	case a.Within:
		return text + ", as " + a.Source + " has it"
	default:
		return text + fmt.Sprintf("; %s asks for %s, which is beyond this card and reference", a.Source, Tie(uncertain.Format(a.VoltRMS.Low, 0, "V")))
	}
}

func playedAt(peak float64) string {
	if peak <= 0 {
		return "none"
	}
	return Tie(fmt.Sprintf("%.0f dBFS", 20*math.Log10(peak)))
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

func halfText(half float64) string {
	if math.IsInf(half, 0) {
		return "no reading"
	}
	return "± " + twoDigits(100*half) + " %"
}

// twoDigits writes a number with two digits that count, zeros among them.
func twoDigits(v float64) string {
	two, err := strconv.ParseFloat(strconv.FormatFloat(v, 'e', 1, 64), 64)
	if err != nil || two == 0 {
		return "0"
	}
	return strconv.FormatFloat(two, 'f', max(0, 1-int(math.Floor(math.Log10(two)))), 64)
}
