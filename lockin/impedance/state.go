package impedance

import (
	"math"
	"math/cmplx"

	"example.org/wheatear/lockin/internal/order"
)

// consistent is the level of the test for zero: a true zero is found inconsistent
// once in twenty times.
const consistent = 0.05

// farFactor is how far beyond the reference a part must be to be called an open, or below
// it a short: a decade.
const farFactor = 10

// state tells a reading from an open and a short. Zero in the plane that the sample is
// straight in must be within the region, or within the 95 % region of both coordinates
// together; and all that is possible must be a decade away from the reference, with room
// for what the region leaves out. Anything else is a bound.
func (c *cloud) state(p *plane, r region, s ranges, refOhm float64) State {
	if p.zero == nil || !r.holds(*p.zero) && c.zeroProbability(p) < consistent {
		return OK
	}
	const room = 1.7 // 95 to 99.9 %
	switch open := cmplx.IsInf(p.ohm(*p.zero)); {
	case open && !(room*s.ymodulus.high*farFactor*refOhm < 1):
		return OK
	case open:
		return Open
	case refOhm > 0 && !(room*s.modulus.high*farFactor < refOhm):
		return OK
	}
	return Short
}

// skew measures how far a sample lies from its estimate: the distance of its
// middle from the estimate, in units of its spread. It is about 1/√M where the
// model is linear, and large or infinite in the plane of the reciprocal.
func (c *cloud) skew(p *plane) float64 {
	midX, midY := c.median(p.x), c.median(p.y)
	off := math.Hypot(midX-p.estimate.x, midY-p.estimate.y)
	for t, v := range p.x {
		c.scratch[t] = math.Hypot(v-midX, p.y[t]-midY)
	}
	switch spread := order.Kth(c.scratch, c.n/2); {
	case off == 0:
		return 0
	case math.IsNaN(off):
		return math.Inf(1)
	default:
		return off / spread
	}
}

// tails compares how far a sample reaches up and down from its middle in ln|Z|: more than
// 1 where it comes near to Y = 0, less where it comes near to Z = 0.
func (c *cloud) tails() float64 {
	const end = 0.01
	copy(c.scratch, c.columns[outModulus])
	at := func(part float64) float64 { return math.Log(order.Kth(c.scratch, int(part*float64(c.n-1)+0.5))) }
	low, middle, high := at(end), at(0.5), at(1-end)
	return (high - middle) / (middle - low)
}

// zeroProbability returns the part of the sample that is as far from the
// estimate as zero is, or further; far in the sense of the covariance. It needs
// no assumption on degrees of freedom or shape.
func (c *cloud) zeroProbability(p *plane) float64 {
	metric := c.metric(p.re, p.im)
	limit := metric(p.zero.x-p.estimate.x, p.zero.y-p.estimate.y)
	count := 0
	for t, x := range p.x {
		if metric(x-p.estimate.x, p.y[t]-p.estimate.y) >= limit {
			count++
		}
	}
	return float64(count) / float64(c.n)
}

// flat is the least ratio of the small to the large axis of an ellipse of
// uncertainty; thinner ones are taken as that thick.
const flat = 1e-9

// metric returns dᵀ V⁻¹ d with the covariance of two outputs, up to a factor.
func (c *cloud) metric(re, im int) func(x, y float64) float64 {
	a, b, d := c.cov.At(re, re), c.cov.At(re, im), c.cov.At(im, im)
	scale := a + d
	if !(scale > 0) {
		return func(x, y float64) float64 { return x*x + y*y }
	}
	a, b, d = a/scale+flat*flat, b/scale, d/scale+flat*flat
	return func(x, y float64) float64 { return (d*x*x - 2*b*x*y + a*y*y) / scale }
}
