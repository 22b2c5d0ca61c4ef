package predict

import (
	"math"

	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/internal/errkind"
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
	usualCoilSeconds  = 0.5e-3 // L/R of the winding: a Q of 3 at 1 kHz
	usualLeadHenry    = 15e-9
)

// NewPart takes a marking for a part of a kind; an empty kind stands for what the
// unit and the value suggest.
func NewPart(m parts.Marking, kind parts.Type) (Part, error) {
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
		return p, errkind.Errorf(ErrSetup, "predict: %s is no resistor, capacitor or inductor", m)
	}
	if !(p.Value > 0) {
		return p, errkind.Errorf(ErrSetup, "predict: %s has no value above zero", m)
	}
	if kind != "" {
		if kind.Unit() != m.Unit {
			return p, errkind.Errorf(ErrSetup, "predict: %s is no %s", m, kind)
		}
		p.Type = kind
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

// lossOhm is the series resistance: of films a loss that does not depend on
// frequency, of electrolytics and windings a resistance that does not.
func (p Part) lossOhm(freqHz float64) float64 {
	d, at := p.LossD, freqHz
	switch {
	case p.Kind == impedance.Inductor:
		if d == 0 {
			return p.Value / usualCoilSeconds
		}
		return d * 2 * math.Pi * 1000 * p.Value
	case p.electrolytic():
		at = 120
		if d == 0 {
			d = usualLossElectro
		}
	case d == 0:
		d = usualLossFilm
	}
	return d / (2 * math.Pi * at * p.Value)
}

func (p Part) electrolytic() bool {
	switch p.Type {
	case parts.Electrolytic, parts.Aluminium, parts.Tantalum, parts.PolymerType, parts.DoubleLayer:
		return true
	}
	return false
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

// main is the same as a function of the outputs of a model.
func (p Part) main(y []float64) float64 {
	e := impedance.Of(complex(y[fixture.OutRe], y[fixture.OutIm]), y[fixture.OutHz])
	switch p.Kind {
	case impedance.Capacitor:
		return e.SeriesF
	case impedance.Inductor:
		return e.SeriesH
	}
	return e.SeriesOhm
}

// q is the quality of the part at a frequency.
func (p Part) q(freqHz float64) float64 {
	z := p.Impedance(freqHz)
	return math.Abs(imag(z)) / real(z)
}

// conditions are what standards and the trade set for the part; none where it has no
// type.
func (p Part) conditions() []parts.Condition {
	list, err := parts.Conditions(p.Type, p.Value)
	if err != nil {
		return nil
	}
	return list
}

// moved is how far a frequency may be from the one of a standard and still stand for it:
// as far as tones are moved aside from mains lines.
const moved = 0.03

// condition is the first that means this frequency, or one that it was moved from; ok
// is false where none does.
func (p Part) condition(freqHz float64) (c parts.Condition, ok bool) {
	for _, c := range p.conditions() {
		for _, f := range c.FreqsHz {
			if math.Abs(f-freqHz) <= moved*freqHz {
				return c, true
			}
		}
	}
	return c, false
}

func sameHz(a, b float64) bool { return math.Abs(a-b) <= 1e-6*b }

// fallbackHz is tried where nothing is said of the part within reach of the card.
const fallbackHz = 1000

// FrequenciesHz are those that standards and the trade allow for the part and that a
// card of this rate reaches, each once, the first preferred.
func (p Part) FrequenciesHz(rateHz float64) []float64 {
	var out []float64
	for _, c := range p.conditions() {
		for _, f := range c.Reachable(parts.CardLowHz, carried*rateHz) {
			known := false
			for _, o := range out {
				known = known || sameHz(o, f)
			}
			if !known {
				out = append(out, f)
			}
		}
	}
	if len(out) == 0 {
		return []float64{fallbackHz}
	}
	return out
}
