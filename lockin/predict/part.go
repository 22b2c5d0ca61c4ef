package predict

import (
	"fmt"
	"math"

	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/uncertain"
)

// Part is what is expected: a value with what parts of its kind usually have beside
// it.
type Part struct {
	Kind  impedance.Kind
	Value float64 // ohm, farad or henry
	Type  parts.Type
	LossD float64 // at 1 kHz, or 120 Hz for an electrolytic; 0 for what is usual
}

// What parts of a kind usually have: common practice, no source. They shape the
// prediction of the smaller element and the warnings, hardly that of the larger.
const (
	usualElectrolytic = 10e-6 // farad from which on a capacitor is taken for one
	usualLossFilm     = 0.005
	usualLossElectro  = 0.10
	usualInductorQ    = 20 // at 1 kHz and above
	usualLeadHenry    = 15e-9
)

// NewPart takes a marking for a part.
func NewPart(m parts.Marking) (Part, error) {
	p := Part{Value: m.Value, Type: parts.TypeOf(m.Unit)}
	switch m.Unit {
	case parts.Ohm:
		p.Kind = impedance.Resistor
	case parts.Farad:
		p.Kind = impedance.Capacitor
		if m.Value >= usualElectrolytic {
			p.Type = parts.Electrolytic
		}
	case parts.Henry:
		p.Kind = impedance.Inductor
	default:
		return p, fmt.Errorf("predict: %s is no resistor, capacitor or inductor", m)
	}
	if !(p.Value > 0) {
		return p, fmt.Errorf("predict: %s has no value above zero", m)
	}
	return p, nil
}

// Impedance is the part at a frequency.
func (p Part) Impedance(freqHz float64) complex128 {
	w := 2 * math.Pi * freqHz
	switch p.Kind {
	case impedance.Capacitor:
		return complex(p.lossOhm(freqHz), w*usualLeadHenry-1/(w*p.Value))
	case impedance.Inductor:
		return complex(p.lossOhm(freqHz), w*p.Value)
	}
	return complex(p.Value, w*usualLeadHenry)
}

// lossOhm is the series resistance.
func (p Part) lossOhm(freqHz float64) float64 {
	d := p.LossD
	switch p.Kind {
	case impedance.Capacitor:
		at := freqHz // a loss that does not depend on frequency, as of films
		if d == 0 {
			d = usualLossFilm
		}
		if p.Type == parts.Electrolytic { // a resistance that does not
			at = 120
			if p.LossD == 0 {
				d = usualLossElectro
			}
		}
		return d / (2 * math.Pi * at * p.Value)
	case impedance.Inductor:
		q := float64(usualInductorQ)
		if d > 0 {
			q = 1 / d
		}
		return 2 * math.Pi * 1000 * p.Value / q // the winding, as its Q at 1 kHz says
	}
	return 0
}

// Main is the quantity that the part is known by, of a reading.
func (p Part) Main(r impedance.Reading) uncertain.Quantity {
	switch p.Kind {
	case impedance.Capacitor:
		return r.Series.C
	case impedance.Inductor:
		return r.Series.L
	}
	return r.Re
}

// FrequenciesHz are those that standards and the trade allow for the part and that a
// card of this rate reaches, each once, the first preferred.
func (p Part) FrequenciesHz(rateHz float64) []float64 {
	var out []float64
	add := func(list []float64) {
		for _, f := range list {
			known := false
			for _, o := range out {
				known = known || math.Abs(o/f-1) < 1e-6
			}
			if !known {
				out = append(out, f)
			}
		}
	}
	conditions, err := parts.Conditions(p.Type, p.Value)
	if err != nil {
		return nil
	}
	for _, c := range conditions {
		add(c.Reachable(parts.CardLowHz, 0.45*rateHz))
	}
	if len(out) == 0 {
		add([]float64{1000})
	}
	return out
}
