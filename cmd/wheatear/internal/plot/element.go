package plot

import (
	"math"

	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/uncertain"
)

// element is the one that most of the readings are: what the third panel shows.
type element struct {
	kind    impedance.Kind
	circuit impedance.Circuit
}

// mostly counts kinds and equivalents. Among equals the first met counts.
func mostly(points []Point) element {
	kinds, circuits := map[impedance.Kind]int{}, map[impedance.Circuit]int{}
	var e element
	for _, p := range points {
		if !p.Trusted {
			continue
		}
		kind := p.Reading.Dominance.Likeliest
		if kinds[kind]++; kind != impedance.Undecided && kinds[kind] > kinds[e.kind] || e.kind == impedance.Undecided {
			e.kind = kind
		}
		circuit := p.Reading.Fitting.Circuit
		if circuits[circuit]++; circuits[circuit] > circuits[e.circuit] {
			e.circuit = circuit
		}
	}
	return e
}

func (e element) equivalent(r impedance.Reading) impedance.Equivalent {
	if e.circuit == impedance.ParallelCircuit {
		return r.Parallel
	}
	return r.Series
}

func (e element) of(r impedance.Reading) uncertain.Quantity {
	switch equivalent := e.equivalent(r); e.kind {
	case impedance.Capacitor:
		return equivalent.C
	case impedance.Inductor:
		return equivalent.L
	default:
		return equivalent.R
	}
}

// title names the element and what the other one is taken to be.
func (e element) title() string {
	name := map[impedance.Kind]string{impedance.Capacitor: "capacitance", impedance.Inductor: "inductance"}[e.kind]
	if name == "" {
		name = "resistance"
	}
	if e.circuit == impedance.ParallelCircuit {
		return name + ", parallel equivalent"
	}
	return name + ", series equivalent"
}

func (e element) unit() string {
	switch e.kind {
	case impedance.Capacitor:
		return "F"
	case impedance.Inductor:
		return "H"
	}
	return "Ω"
}

func modulus(r impedance.Reading) uncertain.Quantity { return r.Modulus }

// degrees is the phase for people.
func degrees(r impedance.Reading) uncertain.Quantity {
	const perRad = 180 / math.Pi
	q := r.Phase
	return uncertain.Quantity{Value: q.Value * perRad, U: q.U * perRad, Low: q.Low * perRad, High: q.High * perRad}
}

// picker takes one quantity out of a reading.
type picker = func(impedance.Reading) uncertain.Quantity

// quantities are those that can be drawn.
func quantities(points []Point, pick picker) []uncertain.Quantity {
	var out []uncertain.Quantity
	for _, p := range points {
		if q := pick(p.Reading); p.Trusted && finite(q.Value) {
			out = append(out, q)
		}
	}
	return out
}
