package impedance

import (
	"math"
	"strings"

	"example.org/wheatear/lockin/internal/errkind"

	"example.org/wheatear/lockin/uncertain"
)

// Kinds that an Element may have beside those of parts: moduli belong to no circuit.
const (
	ModulusZ Kind = "impedance"  // |Z|
	ModulusY Kind = "admittance" // |Y|
)

// kindFacts are what everybody who names an element needs to know of its kind.
type kindFacts struct {
	letter, symbol, unit, key, words string
}

var kinds = map[Kind]kindFacts{
	Resistor:  {"R", "R", "Ω", "r_ohm", "resistance"},
	Capacitor: {"C", "C", "F", "c_f", "capacitance"},
	Inductor:  {"L", "L", "H", "l_h", "inductance"},
	ModulusZ:  {"Z", "|Z|", "Ω", "modulus_ohm", "modulus of the impedance"},
	ModulusY:  {"Y", "|Y|", "S", "modulus_s", "modulus of the admittance"},
}

// ElementIn returns the element that has values in a unit, Ω, F or H, with the circuit
// left open; the zero Element for any other unit.
func ElementIn(unit string) Element {
	for _, kind := range []Kind{Resistor, Capacitor, Inductor} {
		if kinds[kind].unit == unit {
			return Element{Kind: kind}
		}
	}
	return Element{}
}

// ElementOf returns the element of a key such as c_f, in a circuit; the zero Element for
// any other key.
func ElementOf(key string, circuit Circuit) Element {
	for kind, facts := range kinds {
		if facts.key == key {
			return Element{kind, circuit}
		}
	}
	return Element{}
}

// Letter is R, C, L, Z or Y; empty for the zero Element.
func (e Element) Letter() string { return kinds[e.Kind].letter }

// Unit is Ω, F, H or S.
func (e Element) Unit() string { return kinds[e.Kind].unit }

// Key is the name of the quantity in documents, such as c_f; the unit is its end.
func (e Element) Key() string { return kinds[e.Kind].key }

// Symbol is what stands before a value: Cs, Rp, |Z|.
func (e Element) Symbol() string { return kinds[e.Kind].symbol + e.index() }

// String is the element as people ask for it: C where the circuit is left open, Cs,
// Rp, Z. ParseElement is its inverse.
func (e Element) String() string { return e.Letter() + e.index() }

func (e Element) index() string {
	return map[Circuit]string{SeriesCircuit: "s", ParallelCircuit: "p"}[e.Circuit]
}

// Words names the quantity in full, such as: capacitance in series.
func (e Element) Words() string {
	words := kinds[e.Kind].words
	if e.Circuit == SeriesCircuit || e.Circuit == ParallelCircuit {
		words += " in " + string(e.Circuit)
	}
	return words
}

// In returns the element of a reading, in Unit. It is absent where the reading has no
// such element: C of what is inductive.
func (e Element) In(r Reading) uncertain.Quantity {
	switch e.Kind {
	case ModulusZ:
		return r.Modulus
	case ModulusY:
		return r.Y.Modulus
	}
	of := r.Series
	if e.Circuit == ParallelCircuit {
		of = r.Parallel
	}
	switch e.Kind {
	case Resistor:
		return of.R
	case Capacitor:
		return of.C
	case Inductor:
		return of.L
	}
	return uncertain.Absent()
}

// ParseElement reads what readings are to be told by: C, Cs, Cp, L, Ls, Lp, R, Rs, Rp,
// Z or Y, in either case. Without s or p the circuit is left open.
func ParseElement(text string) (Element, error) {
	for kind := range kinds {
		for _, circuit := range []Circuit{NoCircuit, SeriesCircuit, ParallelCircuit} {
			e := Element{kind, circuit}
			if strings.EqualFold(e.String(), text) && (e.hasCircuit() || circuit == NoCircuit) {
				return e, nil
			}
		}
	}
	return Element{}, errkind.Errorf(ErrConfig, "impedance: %q is nothing that a part can be read as: use C, L or R, with s or p behind it for series or parallel, or Z or Y", text)
}

func (e Element) hasCircuit() bool {
	return e.Kind == Resistor || e.Kind == Capacitor || e.Kind == Inductor
}

// Main returns the element that a reading is told by, and its quantity: what the part
// mostly is, in the equivalent circuit that fits, in series where either does. Where
// that is open, and of an open or a short, it is the modulus, of which a bound may be
// all that is known. Of nothing it is the zero Element and an absent quantity.
func (r Reading) Main() (Element, uncertain.Quantity) {
	if r.Modulus.IsAbsent() {
		return Element{}, uncertain.Absent()
	}
	e := MainOf([]Reading{r}, Element{})
	return e, e.In(r)
}

// MainOf returns the one element that several readings of a part are told by: what
// is asked for, with the circuit that fits most of them where none is asked for, and
// of the zero Element what most of them are. Reactance goes before resistance among
// equals: a part is a resistor at the end of its range more often than at its middle.
func MainOf(readings []Reading, asked Element) Element {
	e := asked
	if e.Kind == Undecided {
		e.Kind = mostly(readings)
	}
	switch {
	case !e.hasCircuit():
		e.Circuit = NoCircuit
	case e.Circuit == NoCircuit:
		e.Circuit = fitsMost(readings, e.Kind)
	}
	return e
}

// mostly is the kind that most readings are, of those that are decided and have a
// value of it.
func mostly(readings []Reading) Kind {
	count := map[Kind]int{}
	for _, r := range readings {
		kind := r.Dominance.Kind
		if e := (Element{kind, r.fitting()}); r.State == OK && finite(e.In(r).Value) {
			count[kind]++
		}
	}
	best, most := ModulusZ, 0
	for _, kind := range []Kind{Capacitor, Inductor, Resistor} {
		if count[kind] > most {
			best, most = kind, count[kind]
		}
	}
	return best
}

// fitting is the circuit that fits, series where either does.
func (r Reading) fitting() Circuit {
	if r.Fitting.Circuit == ParallelCircuit {
		return ParallelCircuit
	}
	return SeriesCircuit
}

// fitsMost is the circuit that fits most of the readings of a kind, or most of all
// where none is of that kind.
func fitsMost(readings []Reading, kind Kind) Circuit {
	ofKind, all := 0, 0
	any := false
	for _, r := range readings {
		vote := map[Circuit]int{SeriesCircuit: -1, ParallelCircuit: 1}[r.Fitting.Circuit]
		all += vote
		if r.Dominance.Kind == kind {
			ofKind, any = ofKind+vote, true
		}
	}
	if !any {
		ofKind = all
	}
	if ofKind > 0 {
		return ParallelCircuit
	}
	return SeriesCircuit
}

// Beside returns the other element of the same circuit and its quantity: R beside C
// or L; beside R whichever of C and L has a value, else the one that bounds how little
// there is of it. Beside a modulus there is none: the zero Element.
func (e Element) Beside(r Reading) (Element, uncertain.Quantity) {
	other := Element{Resistor, e.Circuit}
	switch {
	case !e.hasCircuit():
		return Element{}, uncertain.Absent()
	case e.Kind != Resistor:
		return other, other.In(r)
	}
	c, l := Element{Capacitor, e.Circuit}, Element{Inductor, e.Circuit}
	switch {
	case finite(c.In(r).Value):
		return c, c.In(r)
	case finite(l.In(r).Value):
		return l, l.In(r)
	case e.Circuit == ParallelCircuit:
		return c, c.In(r)
	}
	return l, l.In(r)
}

// TurnHz returns the frequency at which reactance and resistance of the element's
// circuit would be equal if both stayed as they are in r, and whether the reactance
// leads below it (else above). NaN where Q is not known.
func (e Element) TurnHz(r Reading) (freqHz float64, below bool) {
	capacitive := finite(r.Series.C.Value) || finite(r.Parallel.C.Value)
	below = capacitive == (e.Circuit != ParallelCircuit)
	if !(r.Q.Value > 0) || !(e.hasCircuit()) {
		return math.NaN(), below
	}
	if below {
		return r.FreqHz.Value * r.Q.Value, below
	}
	return r.FreqHz.Value / r.Q.Value, below
}
