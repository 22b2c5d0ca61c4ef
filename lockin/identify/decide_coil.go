package identify

import "math"

// Limits between families of coils: common practice, no source.
const (
	coreLoss  = 0.006 // beyond the wire, relative to the reactance
	resistorQ = 0.5   // a coil reaches more than this in the sweep
	coilSelfF = 2e-9  // more capacitance than a winding has

	mostLeakage = 0.15 // leakage inductance of a transformer, of the main one
)

// decideCoil looks at the loss beyond that of the wire.
func decideCoil(v *view) *verdict {
	out := &verdict{element: "L", across: "Cp"}
	if c, ok := v.has("Cp"); ok && c > coilSelfF && v.resonates() {
		return decideResonator(v)
	}
	if v.index("E") >= 0 {
		out.element = "E"
	}
	if out := v.winding(); out != nil {
		return out
	}
	most, atHz, power, best := v.coreLoss()
	out.because("The reactance is at most %s times the resistance in the sweep.", figure(best))
	switch {
	case best < resistorQ && v.wire():
		return v.small(out)
	case best < resistorQ:
		out.family, out.element = Resistor, ""
		out.doubt(1, "That little inductance is what resistors have.")
		return out
	case v.index("S") >= 0 || most < coreLoss:
		out.family = AirCoil
		out.because("Beyond the resistance of the wire at low frequencies the loss is at most %s of the reactance, which needs no core.", figure(most))
	default:
		out.family = CoreCoil
		out.because("Beyond the resistance of the wire the loss comes to %s of the reactance at %s and rises as the power %.1f of frequency, as in a core.", figure(most), with(atHz, "Hz"), power)
		out.because("A winding of a transformer with nothing at the others looks the same.")
	}
	out.near("loss", most, coreLoss)
	out.near("quality", best, resistorQ)
	return out
}

// wire reports whether a fit is a small resistance with an inductance.
func (v *view) wire() bool {
	_, l := v.has("L")
	_, e := v.has("E")
	ohm, ok := v.has("Rs")
	return (l || e) && ok && ohm < wireOhm
}

// small decides between a small coil and the leads of a resistor.
func (v *view) small(out *verdict) *verdict {
	element := "L"
	if v.index("E") >= 0 {
		element = "E"
	}
	l, _ := v.has(element)
	ohm, _ := v.has("Rs")
	out.family, out.element = Resistor, "Rs"
	w := 2 * math.Pi * v.highHz
	out.smallCoil(l, ohm, math.Atan2(w*l, ohm))
	if out.family == AirCoil {
		out.element = element
	}
	return out
}

// winding tells whether a fit shows two inductances with a loss between; nil if not.
func (v *view) winding() *verdict {
	ll, stray := v.has("Ll")
	lm, main := v.has("Lm")
	rc, loss := v.has("Rc")
	if !stray || !main || !loss {
		return nil
	}
	corner := rc / (2 * math.Pi * lm)
	out := &verdict{element: "Lm", across: "Cp"}
	if ll > mostLeakage*lm || corner < v.lowHz || corner > v.highHz {
		out.family, out.element = CoreCoil, ""
		out.doubt(1, "Two inductances, %s and %s, fit better than one, but nothing in the sweep parts them clearly.", with(ll, "H"), with(lm, "H"))
		return out
	}
	out.family = Transformer
	out.because("%s in series with %s that has %s across: leakage and main inductance of a winding, with what loads the other winding or is lost in the core. It gives way at %s.",
		with(ll, "H"), with(lm, "H"), with(rc, "Ω"), with(corner, "Hz"))
	return out
}

// coreLoss returns the largest loss beyond that of the wire, relative to reactance,
// where, with which power of frequency that resistance rises there, and the largest
// ratio of reactance to resistance. The capacitance across is taken away.
func (v *view) coreLoss() (most, atHz, power, best float64) {
	x := v.alone(v.Values())
	of := func(f float64) complex128 { return v.Ranked.Result.Circuit.Impedance(f, x...) }
	wire, ok := v.has("Rs")
	if !ok {
		wire = real(of(v.lowHz))
	}
	for _, f := range v.grid() {
		z := of(f)
		best = max(best, imag(z)/real(z))
		if t := (real(z) - wire) / imag(z); t > most {
			most, atHz = t, f
		}
	}
	if most > 0 {
		near, far := real(of(atHz/1.1))-wire, real(of(atHz*1.1))-wire
		power = math.Log(far/near) / math.Log(1.21)
	}
	return most, atHz, power, best
}

// resonates tells whether the reactance changes sign within the sweep.
func (v *view) resonates() bool {
	return imag(v.z(v.lowHz)) > 0 && imag(v.z(v.highHz)) < 0
}
