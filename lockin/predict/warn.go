package predict

import (
	"fmt"
	"math"
	"strconv"

	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/parts"
)

// Warnings lists why a reading of a part under this choice would mislead. Rules
// without a source named in them are common practice.
func (c *Choice) Warnings(w Wish) []string {
	p := w.Part
	var out []string
	for _, text := range []string{c.lowQ(p), c.resonance(p), c.mainsLine(), c.offStandard(p), c.unreachable(p), c.classTwo(p), c.bias(p), c.junctions(w)} {
		if text != "" {
			out = append(out, text)
		}
	}
	return out
}

func (c *Choice) lowQ(p Part) string {
	if q := p.q(c.FreqHz); p.Kind != impedance.Resistor && q < 1 {
		return fmt.Sprintf("Q is about %.2g at %s: resistance rules there, and %s is what is left over; choose a frequency where the reactance is larger",
			q, parts.Words(c.FreqHz, parts.Hertz), p.letter())
	}
	return ""
}

// nearResonance: C or L read at a fifth of the resonance is off by 1/(1 - 1/25), 4 %.
const nearResonance = 5

func (c *Choice) resonance(p Part) string {
	if f := p.resonanceHz(); f > 0 && c.FreqHz > f/nearResonance {
		return fmt.Sprintf("self-resonance of such a part may lie near %s (a guess): %s read close to it is not what it is far below",
			parts.Words(round2(f), parts.Hertz), p.letter())
	}
	return ""
}

func (c *Choice) mainsLine() string {
	if c.MainsOrder == 0 {
		return ""
	}
	return fmt.Sprintf("%s is multiple %d of the mains: hum cannot be told from the tone, and counts as uncertainty; asked for as ~%g it moves aside",
		parts.Words(c.FreqHz, parts.Hertz), c.MainsOrder, c.FreqHz)
}

// offStandard: of electrolytics C falls and the loss rises with frequency.
func (c *Choice) offStandard(p Part) string {
	if !p.electrolytic() || c.FreqHz >= 90 && c.FreqHz <= 130 || p.Type == parts.DoubleLayer {
		return ""
	}
	return "electrolytics are specified at 100 or 120 Hz (IEC 60384-1, -4): at another frequency C and loss are others than the standard means"
}

// unreachable is what the first standard asks and no frequency within reach gives.
func (c *Choice) unreachable(p Part) string {
	if cond, ok := p.condition(c.meantHz()); ok && cond.Standard != "none" {
		return ""
	}
	for _, cond := range p.conditions() {
		if text := cond.Beyond(parts.CardLowHz, c.reachHz); text != "" && cond.Standard != "none" {
			return cond.Standard + " " + text
		}
	}
	return ""
}

// leastClassTwo in farad: above, ceramics are of class 2.
const leastClassTwo = 100e-9

func (c *Choice) classTwo(p Part) string {
	sure := p.Type == parts.CeramicClass2
	if !sure && !(p.Type == parts.AnyCapacitor && p.Value >= leastClassTwo) {
		return ""
	}
	start := "if it is a class-2 ceramic, its C"
	if sure {
		start = "C of a class-2 ceramic"
	}
	return start + " depends on level: its standards mean 1 V rms, above 10 µF 0.5 V (IEC 60384-9, -22); read it there, at the level at which it works, or at several (wheatear level)"
}

// mostReversed is what standards allow across electrolytics at most, volts rms.
const mostReversed = 0.5

// bias: a sound card gives no direct voltage, and what has a polarity is reversed in
// every second half cycle.
func (c *Choice) bias(p Part) string {
	if !p.electrolytic() || p.Type == parts.DoubleLayer {
		return ""
	}
	text := "no bias is applied, and every second half cycle reverses the part: stay below 0.5 V rms across it (IEC 60384-4, -18)"
	if v := c.Corrected.Level.VoltRMS; v > 0 && v <= mostReversed {
		text += fmt.Sprintf("; this is %s", parts.Words(round2(v), parts.Volt))
	}
	if cond, ok := p.condition(c.meantHz()); ok && cond.Bias != "" {
		text += fmt.Sprintf(". %s measures with a bias of %s", cond.Standard, cond.Bias)
	}
	return text
}

func (c *Choice) junctions(w Wish) string {
	if c.Corrected == nil {
		return ""
	}
	volt := c.Corrected.Level.VoltRMS * math.Sqrt2
	switch {
	case !w.InCircuit:
		return ""
	case math.IsNaN(volt):
		return "in circuit the part must get less than 0.2 V peak, or junctions on the board conduct: give full_scale in the jig file to know the level"
	case volt > 1.25*junctionV:
		return fmt.Sprintf("%.2g V peak across the part turns junctions on the board on: stay below 0.2 V", volt)
	}
	return ""
}

func (p Part) letter() string {
	return map[impedance.Kind]string{impedance.Capacitor: "C", impedance.Inductor: "L", impedance.Resistor: "R"}[p.Kind]
}

// resonanceHz is where parts of this kind and value usually resonate: coils with
// some tens of picofarads of winding, capacitors with their leads.
func (p Part) resonanceHz() float64 {
	const windingFarad = 50e-12
	switch p.Kind {
	case impedance.Inductor:
		return 1 / (2 * math.Pi * math.Sqrt(p.Value*windingFarad))
	case impedance.Capacitor:
		return 1 / (2 * math.Pi * math.Sqrt(p.Value*usualLeadHenry))
	}
	return 0
}

// round2 keeps two digits.
func round2(v float64) float64 {
	two, err := strconv.ParseFloat(strconv.FormatFloat(v, 'e', 1, 64), 64)
	if err != nil {
		return v
	}
	return two
}
