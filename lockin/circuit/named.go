package circuit

// NamedCircuit is a circuit that the trade has a name for.
type NamedCircuit struct {
	Name     string // as a person says it
	Key      string // one word, for commands
	Notation string
	About    string // what the elements are
}

// Circuit returns the circuit of the notation.
func (n NamedCircuit) Circuit() *Circuit {
	c, err := Parse(n.Notation)
	if err != nil { // a test reads them all
		return &Circuit{}
	}
	return c
}

// Named lists the circuits that the trade has names for, simple ones first.
//
// Sources: IEC 60115-1, IEC 60384-1 and IEC 62024-1 for resistor, capacitor and
// inductor; IEC 60122-1 for the resonator; de Levie, 1963, for pores; Leach, J. Audio
// Eng. Soc. 50 (2002) 442, for the voice coil; the rest common practice, no source.
func Named() []NamedCircuit {
	return []NamedCircuit{
		{"resistor", "resistor", "(R + Ls) // Cp", "resistance, inductance of body and leads, capacitance across"},
		{"capacitor", "capacitor", "Rp // (C + Rs + Ls)", "leakage, capacitance, series resistance and inductance"},
		{"lossy capacitor", "lossy-capacitor", "Rs + Q", "series resistance and a dielectric of constant loss"},
		{"electrolytic capacitor", "electrolytic", "Rp // (T + Rs + Ls)", "leakage, foil whose pores the electrolyte fills, series resistance and inductance"},
		{"inductor", "inductor", "Cp // (Rs + L // Rc)", "winding capacitance, winding resistance, inductance, core loss"},
		{"coil without core", "air-coil", "Cp // (Rs + L)", "winding capacitance, winding resistance, inductance"},
		{"coil of thick wire", "wire-coil", "Cp // (S + L)", "winding capacitance, round wire with skin effect, inductance"},
		{"coil on sheets", "sheet-coil", "Cp // (Rs + E)", "winding capacitance, winding resistance, core with eddy currents"},
		{"resonator", "resonator", "Cp // (Rm + Lm + Cm)", "capacitance of the electrodes, series arm"},
		{"loudspeaker", "loudspeaker", "Re + Le + Res // Les // Ces", "voice coil, suspension losses, compliance, mass"},
		{"loudspeaker with eddy currents", "loudspeaker-eddy", "Re + K + Res // Les // Ces", "voice coil in solid iron, suspension losses, compliance, mass"},
		{"transformer winding", "transformer", "Cp // (Rs + Ll + Rc // Lm)", "winding capacitance, winding resistance, leakage, core loss, magnetising inductance"},
	}
}

// NamedByKey returns the named circuit with that key.
func NamedByKey(key string) (NamedCircuit, bool) {
	for _, n := range Named() {
		if n.Key == key {
			return n, true
		}
	}
	return NamedCircuit{}, false
}
