package impedance

import (
	"math"

	"example.org/wheatear/lockin/uncertain"
)

// A quantity that cannot be negative, and an estimate that may be, call for one
// rule for all estimates. To give a bound where zero is near and an interval where
// it is not, each with 95 % of its own, holds too much about zero and too little
// a few standard uncertainties above it, where either may come up. Ordering
// estimates by how well they fit the best possible value joins the two, so that
// 95 % hold whatever the truth is.
//
// Reference: G. J. Feldman and R. D. Cousins, Unified approach to the classical
// statistical analysis of small signals, Physical Review D 57 (1998) 3873, IV B
// (from memory).

// normal95 is the 97.5 % quantile of the standard normal distribution.
const normal95 = 1.959963984540054

func normalCDF(x float64) float64 { return 0.5 * math.Erfc(-x/math.Sqrt2) }

// above returns how far above a truth mu ≥ 0 the estimates lie that speak for it,
// in units of the standard uncertainty. Below zero the best possible value is 0, so
// that likelihood ratios are equal at s above mu and mu/2 + s²/(2 mu) below it:
//
//	Φ(s) − Φ(−mu/2 − s²/(2 mu)) = 0.95
//
// from 1.64 at mu = 0 to 1.96 at mu = 1.96 and beyond.
func above(mu float64) float64 {
	switch {
	case mu >= normal95:
		return normal95
	case mu <= 0:
		return math.Sqrt2 * math.Erfinv(0.9)
	}
	return bisect(func(s float64) bool { return normalCDF(s)-normalCDF(-mu/2-s*s/(2*mu)) < 0.95 })
}

// least returns the smallest truth that an estimate t ≥ 0 speaks for.
func least(t float64) float64 {
	switch {
	case t >= 2*normal95:
		return t - normal95
	case t <= above(0):
		return 0
	}
	return bisect(func(mu float64) bool { return mu+above(mu) < t })
}

// bisect returns where low goes from true to false between 0 and 1.96.
func bisect(low func(float64) bool) float64 {
	const halvings = 40 // to 1e-12
	a, b := 0.0, normal95
	for range halvings {
		if m := (a + b) / 2; low(m) {
			a = m
		} else {
			b = m
		}
	}
	return (a + b) / 2
}

// possible returns what is possible of an output that cannot be negative. Each
// side of its symmetric interval is a measure of 1.96 standard uncertainties, so
// that skew and long tails stay as they are. An estimate below zero keeps the bound
// that 95 % of the possible part of its sample stay below: what that rule of
// ordering would leave of it is closer to zero than anybody should believe. So does
// one that its own sample leaves above, where the model is anything but linear.
func (c *cloud) possible(output int) uncertain.Quantity {
	q := c.quantity(output)
	switch down := q.Value - q.Low; {
	case q.Low <= 0 && !(q.Value >= 0 && q.Value <= q.High):
		q.Low, q.High = 0, c.upper(output)
	case down > 0:
		q.Low = least(normal95*q.Value/down) * down / normal95
	}
	return q
}
