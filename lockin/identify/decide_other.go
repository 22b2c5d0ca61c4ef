package identify

import "math"

// Limits of resistors, loudspeakers and resonators: common practice, no source.
const (
	resistorPhase = 0.35 // radians, of what is called a resistor
	smallPhase    = 0.1  // radians, from which inductance is looked at
	wireHenry     = 150e-9
	wireOhm       = 3.0 // a resistor so small is short or wound
	leastQ        = 5   // of a resonator; below it is a network
	loudLowOhm    = 1.5 // resistance of voice coils
	loudHighOhm   = 1000
	loudHighHz    = 5e3
	loudHighQ     = 30
)

// decideResistor looks at the phase.
func decideResistor(v *view) *verdict {
	out := &verdict{family: Resistor, element: "R"}
	most, atHz := 0.0, 0.0
	for _, f := range v.grid() {
		z := v.z(f)
		if a := math.Abs(math.Atan2(imag(z), real(z))); a >= most {
			most, atHz = a, f
		}
	}
	out.because("The phase stays within %s degrees, most of it at %s.", figure(max(most*180/math.Pi, 0.01)), with(atHz, "Hz"))
	if l, ok := v.has("Ls"); ok && most > smallPhase {
		ohm, _ := v.has("R")
		return out.smallCoil(l, ohm, most)
	}
	if most > resistorPhase {
		out.family, out.element = Network, ""
		out.because("That is more than leads and body of a resistor do: there is another element.")
	}
	out.near("phase in radians", most, resistorPhase)
	if c, ok := v.has("Cp"); ok && c > 1e-10 {
		out.doubt(1, "A capacitance of %s across is more than a resistor has.", with(c, "F"))
	}
	return out
}

// smallCoil tells a coil or bead of little inductance from the leads of a small resistor:
// at most a few centimetres of wire, 10 nH each.
func (out *verdict) smallCoil(henry, ohm, phase float64) *verdict {
	out.near("inductance", henry, wireHenry)
	if henry > wireHenry && ohm < wireOhm {
		out.family, out.element = AirCoil, "Ls"
		out.because("%s is more than the leads of a resistor have: a small coil or a bead with %s.", with(henry, "H"), with(ohm, "Ω"))
		out.doubt(1, "A wire-wound resistor may look the same.")
		return out
	}
	if henry <= wireHenry && ohm < wireOhm {
		out.because("%s is no more than its leads have.", with(henry, "H"))
		return out
	}
	if phase > resistorPhase {
		out.family, out.element = Network, ""
		out.because("That is more than leads and body of a resistor do: there is another element.")
	}
	out.near("phase in radians", phase, resistorPhase)
	return out
}

// decideLoudspeaker looks at the resonance of the cone.
func decideLoudspeaker(v *view) *verdict {
	out := &verdict{family: Loudspeaker, element: "Re"}
	names := [...]string{"Re", "Res", "Les", "Ces"}
	if v.index("Res") < 0 { // the inductance of the voice coil does not show
		out.element, names = "Rs", [...]string{"Rs", "Rp", "L", "C"}
		out.doubts++
	}
	x := func(k int) float64 { return v.Values()[v.index(names[k])] }
	re, res, les, ces := x(0), x(1), x(2), x(3)
	f := 1 / (2 * math.Pi * math.Sqrt(les*ces))
	q := res * math.Sqrt(ces/les)
	out.because("%s in series with a resonance at %s that is damped to Q = %s and adds %s.", with(re, "Ω"), with(f, "Hz"), figure(q), with(res, "Ω"))
	switch {
	case f < v.lowHz || f > v.highHz || f > loudHighHz || q > loudHighQ || re < loudLowOhm/1.5 || re > loudHighOhm || res < 0.05*re:
		out.family, out.element = Network, ""
		out.because("These are no figures of a loudspeaker.")
	default:
		out.because("These are figures of a loudspeaker in its nominal range; a network of the same elements looks no different.")
		out.near("resistance", re, loudLowOhm/1.5)
		out.near("resistance", re, loudHighOhm)
	}
	return out
}

// decideResonator looks at frequency and quality of the resonance.
func decideResonator(v *view) *verdict {
	out := &verdict{family: Resonator}
	l, c, r := v.loop()
	f := 1 / (2 * math.Pi * math.Sqrt(l*c))
	q := math.Sqrt(l/c) / r
	if v.Name == "Rs + L // C // Rp" && q < leastQ {
		return decideLoudspeaker(v)
	}
	out.because("%s and %s resonate at %s with Q = %s.", with(l, "H"), with(c, "F"), with(f, "Hz"), figure(q))
	switch {
	case f < v.lowHz || f > v.highHz:
		out.family = Network
		out.because("That lies outside of the sweep.")
	case q < leastQ:
		out.family = Network
		out.because("That is damped too much for a resonator.")
	}
	out.near("quality", q, leastQ)
	return out
}

// loop returns the elements of the loop that resonates, and its resistance.
func (v *view) loop() (henry, farad, ohm float64) {
	pick := func(names ...string) float64 {
		for _, n := range names {
			if i := v.index(n); i >= 0 {
				return v.Values()[i]
			}
		}
		return 0
	}
	henry, farad = pick("Lm", "L", "Ls", "E", "K"), pick("Cm", "C", "Cp", "Q")
	ohm = pick("Rm", "Rs", "S")
	if rp := pick("Rp", "Rc"); rp > 0 {
		ohm += henry / farad / rp
	}
	return henry, farad, ohm
}

// decideMixed names what is no single part.
func decideMixed(v *view) *verdict {
	out := &verdict{family: Network}
	out.because("Two resistances and one reactance are needed to explain it, which is no single part.")
	return out
}
