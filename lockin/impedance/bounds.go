package impedance

import (
	"math"

	"example.org/wheatear/lockin/uncertain"
)

// notNegative returns an output that cannot be negative in a passive part: what is
// possible of it, with the estimate or 0 as value. It is absent where hardly any of
// the sample is possible.
func (c *cloud) notNegative(output int) uncertain.Quantity {
	q := c.possible(output)
	if !finite(q.Value) || math.IsNaN(q.High) {
		return uncertain.Absent()
	}
	q.Value = math.Max(q.Value, 0)
	return q
}

// atMost returns an output of which only a bound is known: [0, high], no value.
func (c *cloud) atMost(output int) uncertain.Quantity {
	q := uncertain.Absent()
	if high := c.possible(output).High; finite(high) {
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
