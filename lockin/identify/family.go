package identify

import (
	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/uncertain"

	"example.org/wheatear/lockin/circuit"
)

// Family is what a part is.
type Family string

// The families. Capacitor and Coil are those of which no more can be told.
const (
	Resistor     Family = "resistor"
	Capacitor    Family = "capacitor"
	LowLoss      Family = "film or class-1 ceramic capacitor"
	Class2       Family = "class-2 ceramic capacitor"
	Electrolytic Family = "electrolytic capacitor"
	Leaky        Family = "leaky capacitor"
	Coil         Family = "coil"
	AirCoil      Family = "coil in air"
	CoreCoil     Family = "coil on a core"
	Transformer  Family = "transformer winding"
	Resonator    Family = "resonator"
	Loudspeaker  Family = "loudspeaker"
	Network      Family = "network"
	Unknown      Family = "cannot be told"
)

// Unit returns what the value of a family is in; None where it has no value.
func (f Family) Unit() parts.Unit {
	switch f {
	case Resistor, Loudspeaker:
		return parts.Ohm
	case Capacitor, LowLoss, Class2, Electrolytic, Leaky:
		return parts.Farad
	case Coil, AirCoil, CoreCoil, Transformer:
		return parts.Henry
	case Resonator:
		return parts.Hertz
	}
	return parts.None
}

// Confidence in a family.
type Confidence string

// The confidences, from the best on.
const (
	High   Confidence = "high"
	Medium Confidence = "medium"
	Low    Confidence = "low"
)

var confidences = [...]Confidence{High, Medium, Low}

// Identity is what a sweep says of a part.
type Identity struct {
	Family     Family
	Confidence Confidence
	Reasons    []string // in sentences, with figures; what speaks for it first

	Value   uncertain.Quantity // in the unit of the family; absent where there is none
	ValueHz float64            // at which the value holds; 0 where it is that of an element
	Marking Marking            // the preferred value nearest to the value; nobody saw what is on the part

	// ResonanceHz is where the part resonates with itself. Only Low is finite where the
	// sweep shows no more than that it lies above.
	ResonanceHz uncertain.Quantity
	// LowHz and HighHz are the ends of the stretch in which a reading alone shows the
	// value within 5 % and is mostly what the part is called. 0 where there is none.
	LowHz, HighHz float64

	Choice      *circuit.Choice      // nil where nothing could be fitted
	Consistency *circuit.Consistency // nil where there are too few points
}

// Marking is a preferred value and how a part of it would be marked.
type Marking struct {
	Series parts.Series // 0 for none
	Value  float64
	Text   string
	Off    float64 // value measured over that marked, less 1
}
