package impedance

import (
	"math"
	"math/cmplx"

	"example.org/wheatear/lockin/internal/order"
)

// consistent is the level of the test for zero: a true zero is found inconsistent
// once in twenty times.
const consistent = 0.05

// state tells a reading from an open and a short.
//
// Zero (or infinity) can lie within the cloud of Z only if the direction of Z is
// not known, that is if part of the sample points away from the estimate; that
// part is Φ(−2.45) = 0.7 % at the edge of a 95 % region, and one in a thousand
// is asked for. Then it is asked in which plane, Z or Y, the model is linear,
// and whether that plane's zero lies within its 95 % region.
func (c *cloud) state() State {
	z := complex(c.y[outRe], c.y[outIm])
	if finite(c.y[outModulus]) && c.reversed(z) < nonPassiveLevel {
		return OK
	}
	switch {
	case c.skew(outRe, outIm) <= c.skew(outG, outB):
		if c.zeroProbability(outRe, outIm) >= consistent {
			return Short
		}
	case c.zeroProbability(outG, outB) >= consistent:
		return Open
	}
	return OK
}

// reversed returns the part of the sample that is a quarter turn or more away
// from the estimate.
func (c *cloud) reversed(z complex128) float64 {
	count := 0
	direction := cmplx.Conj(z)
	for t, re := range c.columns[outRe] {
		if real(complex(re, c.columns[outIm][t])*direction) <= 0 {
			count++
		}
	}
	return float64(count) / float64(c.n)
}

// skew measures how far a sample lies from its estimate: the distance of its
// middle from the estimate, in units of its spread. It is about 1/√M where the
// model is linear, and large or infinite in the plane of the reciprocal.
func (c *cloud) skew(re, im int) float64 {
	midRe, midIm := c.median(re), c.median(im)
	off := math.Hypot(midRe-c.y[re], midIm-c.y[im])
	for t, v := range c.columns[re] {
		c.scratch[t] = math.Hypot(v-midRe, c.columns[im][t]-midIm)
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

// zeroProbability returns the part of the sample that is as far from the
// estimate as zero is, or further; far in the sense of the covariance. It needs
// no assumption on degrees of freedom or shape.
func (c *cloud) zeroProbability(re, im int) float64 {
	metric := c.metric(re, im)
	limit := metric(-c.y[re], -c.y[im])
	count := 0
	for t, v := range c.columns[re] {
		if metric(v-c.y[re], c.columns[im][t]-c.y[im]) >= limit {
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
