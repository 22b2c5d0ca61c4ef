package identify

import (
	"math"

	"example.org/wheatear/lockin/circuit"
	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/uncertain"
)

// value fills in the value, its nearest preferred value, the resonance and the range.
func (id *Identity) value(v *view, w *verdict) {
	id.Value, id.ResonanceHz = uncertain.Absent(), uncertain.Absent()
	switch {
	case id.Family == Resonator:
		id.Value = v.resonance()
	case id.Family == Unknown || id.Family == Network:
	default:
		id.Value, id.ValueHz = v.worth(w.element, id.Family.Unit())
	}
	if id.Family == CoreCoil {
		id.Value = v.dispersed(id.Value)
	}
	id.mark()
	id.resonates(v, w)
	id.stretch(v)
}

// worth is the value of an element, or where the circuit has none of that name what is
// read at a frequency, which is then told.
func (v *view) worth(element string, unit parts.Unit) (q uncertain.Quantity, atHz float64) {
	switch i := v.index(element); {
	case i >= 0 && (v.index("Ca") >= 0 || v.index("S") >= 0): // which is part of it: absorption, the field within the wire
	case i >= 0 && v.Parameters[i].State == circuit.Determined:
		return v.Parameters[i].Quantity, 0
	case i >= 0: // no more than a bound
		return uncertain.Absent(), 0
	}
	atHz = v.valueHz()
	return v.derive(func(x []float64) float64 {
		return reads(unit, atHz, v.Ranked.Result.Circuit.Impedance(atHz, v.alone(x)...))
	}), atHz
}

// dispersed widens the inductance of a coil on a core by what its law of loss leaves
// open: a core with the loss tan δ changes its inductance by (2/π)·tan δ for each factor
// e of frequency, by the Kramers–Kronig relations for a slowly varying loss, and how it
// goes on beyond the sweep is anybody's guess.
func (v *view) dispersed(q uncertain.Quantity) uncertain.Quantity {
	if !(q.Value > 0) {
		return q
	}
	x := v.alone(v.Values())
	of := func(hz float64) complex128 { return v.Ranked.Result.Circuit.Impedance(hz, x...) }
	wire, at := real(of(v.lowHz)), v.valueHz()
	if ohm, ok := v.has("Rs"); ok {
		wire = ohm
	}
	open := 2 / math.Pi * max(0, real(of(at))-wire) / imag(of(at)) * q.Value
	if open > 0 {
		q.Low, q.High, q.U = q.Low-open, q.High+open, math.Hypot(q.U, open/math.Sqrt(3))
	}
	return q
}

// alone takes leakage and leads away from a part.
func (v *view) alone(x []float64) []float64 {
	out := append([]float64(nil), x...)
	for i, p := range v.Parameters {
		switch p.Name {
		case "Rp":
			out[i] = 1e15
		case "Ls", "Cp":
			out[i] = 1e-24
		}
	}
	return out
}

// reads is what a reading at one frequency shows: in ohm, farad or henry.
func reads(unit parts.Unit, freqHz float64, z complex128) float64 {
	w := 2 * math.Pi * freqHz
	switch unit {
	case parts.Farad:
		return -1 / (w * imag(z))
	case parts.Henry:
		return imag(z) / w
	}
	return magnitude(z)
}

// resonance is the frequency of the loop.
func (v *view) resonance() uncertain.Quantity {
	return v.derive(func(x []float64) float64 {
		other := *v.Ranked
		result := *v.Ranked.Result
		result.Parameters = append([]circuit.Parameter(nil), result.Parameters...)
		for i := range result.Parameters {
			result.Parameters[i].Estimate = x[i]
		}
		other.Result = &result
		l, c, _ := (&view{Ranked: &other}).loop()
		return 1 / (2 * math.Pi * math.Sqrt(l*c))
	})
}

// mark finds the preferred value nearest to the value.
func (id *Identity) mark() {
	unit := id.Family.Unit()
	if !(id.Value.Value > 0) || unit != parts.Ohm && unit != parts.Farad && unit != parts.Henry || id.Family == Loudspeaker {
		return
	}
	id.Marking = NearestMarking(id.Value.Value, unit, id.Family == Electrolytic)
}

// NearestMarking is the preferred value nearest to a measured one, in ohm, farad or henry,
// of the series that parts of its kind are made in: E24 or E96 for resistors, E6 or E12
// for others, E6 for electrolytics.
func NearestMarking(value float64, unit parts.Unit, electrolytic bool) Marking {
	coarse, fine, within := parts.E24, parts.E96, 0.02
	switch {
	case electrolytic:
		coarse, fine, within = parts.E6, parts.E6, 0.2
	case unit != parts.Ohm:
		coarse, fine, within = parts.E6, parts.E12, 0.1
	}
	m := Marking{Series: coarse, Value: coarse.NearestRelative(value)}
	if math.Abs(value/m.Value-1) > within {
		m = Marking{Series: fine, Value: fine.NearestRelative(value)}
	}
	m.Off = value/m.Value - 1
	text, err := parts.Encode(m.Value, unit, parts.Tolerance{})
	if err != nil { // coils have no letter code
		text = parts.FormatValue(m.Value, unit)
	}
	m.Text = text
	return m
}

// resonates finds where the part resonates with itself.
func (id *Identity) resonates(v *view, w *verdict) {
	i, j := v.index(w.element), v.index(w.across)
	if i < 0 || j < 0 || id.Family == Resonator {
		return
	}
	a, b := v.Parameters[i], v.Parameters[j]
	of := func(x, y float64) float64 { return 1 / (2 * math.Pi * math.Sqrt(x*y)) }
	switch {
	case a.State == circuit.Determined && b.State == circuit.Determined:
		id.ResonanceHz = v.derive(func(x []float64) float64 { return of(x[i], x[j]) })
	case a.State == circuit.Determined && b.State == circuit.AtMost && b.High > 0:
		id.ResonanceHz.Low = of(a.Estimate, b.High)
		id.ResonanceHz.High = math.Inf(1)
	}
}

// within is how far a reading alone may be off the value.
const within = 0.05

// stretch finds the frequencies at which the part behaves as it is called: the longest
// stretch of the sweep.
func (id *Identity) stretch(v *view) {
	unit := id.Family.Unit()
	if unit == parts.None || unit == parts.Hertz || id.Family == Loudspeaker || math.IsNaN(id.Value.Value) {
		return
	}
	from := 0.0
	for _, f := range append(v.grid(), math.Inf(1)) {
		if !math.IsInf(f, 1) && behaves(unit, f, v.z(f), id.Value.Value) {
			if from == 0 {
				from = f
			}
			if id.LowHz == 0 || f/from >= id.HighHz/id.LowHz {
				id.LowHz, id.HighHz = from, f
			}
			continue
		}
		from = 0
	}
}

func behaves(unit parts.Unit, freqHz float64, z complex128, value float64) bool {
	reactive := math.Abs(imag(z)) > math.Abs(real(z))
	return math.Abs(reads(unit, freqHz, z)/value-1) <= within && reactive == (unit != parts.Ohm)
}
