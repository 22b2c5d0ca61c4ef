package plot

import (
	"math"

	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/uncertain"
)

// mainOf is the element that most of the trusted points are.
func mainOf(points []Point) impedance.Element {
	var list []impedance.Reading
	for _, p := range points {
		if p.Trusted {
			list = append(list, p.Reading)
		}
	}
	return impedance.MainOf(list, impedance.Element{})
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
