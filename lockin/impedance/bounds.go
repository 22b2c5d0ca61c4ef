package impedance

import (
	"math"

	"example.org/wheatear/lockin/uncertain"
)

// notNegative returns an output that cannot be negative in a passive part.
// Where the sample does not establish that it is positive, low is 0, high the
// bound given that it is not negative, and the value the estimate or 0.
func (c *cloud) notNegative(output int) uncertain.Quantity {
	if c.sign(output) > 0 {
		return c.quantity(output)
	}
	high := c.upper(output)
	if math.IsNaN(high) {
		return uncertain.Absent()
	}
	return uncertain.Quantity{Value: math.Max(c.y[output], 0), U: c.u[output], Low: 0, High: high}
}

// atMost returns an output of which only a bound is known: [0, high], no value.
func (c *cloud) atMost(output int) uncertain.Quantity {
	q := uncertain.Absent()
	if high := c.upper(output); finite(high) {
		q.Low, q.High = 0, high
	}
	return q
}

// atLeast returns the reciprocal of an output of which only a bound is known.
func (c *cloud) atLeast(output int) uncertain.Quantity { return reciprocal(c.atMost(output)) }

// reciprocal returns 1/q of a quantity that is not negative. u is carried over
// to first order, u/q². A quantity that may be zero leaves only a lower bound,
// since no value can be trusted that an allowed one exceeds without limit.
func reciprocal(q uncertain.Quantity) uncertain.Quantity {
	out := uncertain.Quantity{Value: 1 / q.Value, U: q.U / (q.Value * q.Value), Low: 1 / q.High, High: 1 / q.Low}
	if !(q.Low > 0) || !finite(out.Value) {
		out.Value, out.U, out.High = math.NaN(), math.NaN(), math.Inf(1)
	}
	if !finite(out.Low) {
		return uncertain.Absent()
	}
	return out
}
