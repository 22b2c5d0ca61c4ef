package predict

import (
	"fmt"
	"math"

	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/parts"
)

// Warnings lists why a reading of a part at this frequency and level would mislead.
// volt is the level across the part, rms; 0 where it is not known. Rules without a
// source named in them are common practice.
func (c *Choice) Warnings(p Part, volt float64, inCircuit bool) []string {
	var out []string
	z := p.Impedance(c.FreqHz)
	if p.Kind != impedance.Resistor && math.Abs(imag(z)) < math.Abs(real(z)) {
		out = append(out, fmt.Sprintf("Q is about %.2g at %s: resistance dominates there, and %s is what is left over; choose a frequency where the reactance is larger",
			math.Abs(imag(z)/real(z)), parts.Words(c.FreqHz, parts.Hertz), p.letter()))
	}
	if f := p.resonanceHz(); f > 0 && c.FreqHz > f/5 {
		out = append(out, fmt.Sprintf("self-resonance of such a part may lie near %s (a guess): %s read close to it is not what it is far below", parts.Words(round2(f), parts.Hertz), p.letter()))
	}
	if p.Type == parts.Electrolytic && (c.FreqHz < 90 || c.FreqHz > 130) {
		out = append(out, "electrolytics are specified at 100 or 120 Hz (IEC 60384-4): elsewhere C and loss are others, and no better or worse for it")
	}
	if p.Kind == impedance.Capacitor && p.Type != parts.Electrolytic && p.Value >= 100e-9 {
		out = append(out, "if it is a class-2 ceramic, C depends on level: its standards mean 1 V rms (0.5 V above 10 µF); read it at the level at which it works, or at several (wheatear level)")
	}
	if inCircuit && volt*math.Sqrt2 > 0.25 {
		out = append(out, fmt.Sprintf("%.2g V peak across the part turns junctions on the board on: stay below 0.2 V", volt*math.Sqrt2))
	}
	return out
}

func (p Part) letter() string {
	return map[impedance.Kind]string{impedance.Capacitor: "C", impedance.Inductor: "L", impedance.Resistor: "R"}[p.Kind]
}

// resonanceHz is where parts of this kind and value usually resonate: coils with
// some tens of picofarads of winding, capacitors with their leads. 0 where far away.
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

func round2(v float64) float64 {
	if v == 0 {
		return 0
	}
	d := math.Pow(10, math.Floor(math.Log10(v))-1)
	return math.Round(v/d) * d
}
