package virtual

import "math"

// place builds the element from its spectrum of relaxations,
//
//	s^-n = sin(nπ)/π ∫ e^((1-n)y) / (e^y + s) dy,
//
// (Abramowitz and Stegun, Handbook of Mathematical Functions, 1964, 6.1.17 with
// the beta integral), by the trapezoidal rule with step h: each term is a resistor
// and a capacitor side by side, all in series. On the axis s = jω the rule is off
// by 2 exp(-π²/h), 5e-6 for three terms per decade. What lies below and above the
// terms, a geometric series each, is one more pair, right in two moments.
func (e ConstantPhase) place(n *network, a, c node) {
	const (
		perDecade = 3
		low, high = -3, 10 // decades of e^y: 2πf from 1 Hz to 1 MHz and some to both sides
	)
	h := math.Ln10 / perDecade
	scale := h * math.Sin(e.Exponent*math.Pi) / (math.Pi * e.Q)
	a = n.behind(a, e.SeriesOhm)
	for k := low * perDecade; k <= high*perDecade; k++ {
		x := math.Exp(h * float64(k))
		weight := scale * math.Pow(x, 1-e.Exponent) // of 1/(x+s)
		rate := x
		switch k {
		case low * perDecade: // Σ weight/(x+s) over this and all below, s large
			sum := 1 / (1 - math.Exp(-h*(1-e.Exponent)))
			first := 1 / (1 - math.Exp(-h*(2-e.Exponent)))
			rate, weight = x*first/sum, weight*sum
		case high * perDecade: // over this and all above, s small
			sum := 1 / (1 - math.Exp(-h*e.Exponent))
			first := 1 / (1 - math.Exp(-h*(1+e.Exponent)))
			rate = x * sum / first
			weight *= sum / x * rate
		}
		next := c
		if k < high*perDecade {
			next = n.node()
		}
		n.capacitor(a, next, 1/weight)
		n.conductance(a, next, rate/weight)
		a = next
	}
}
