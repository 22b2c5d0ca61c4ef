package impedance

import (
	"math"
	"math/cmplx"

	"example.org/wheatear/lockin/internal/order"
	"example.org/wheatear/lockin/uncertain"
)

// Where the uncertainty is not small against |Z| itself, quantiles of each figure by
// itself no longer agree with each other, nor with the estimate: what is normal in Y is
// skewed in Z, and the least likely corner of one decides the other. Then there is one
// region for all, in the plane in which the sample is nearest to straight: Y for parts
// far above the reference, Z for parts far below it, the logarithm of Z where gain or
// phase rule. Every figure is its range over that region; a passive part ends it at
// Re = 0. What grows without limit in it has no bound.

// wideShare and wideRatio say where that begins: more than a twentieth of the sample is
// off the estimate by more than a quarter of it.
const (
	wideShare = 0.05
	wideRatio = 0.25
)

// wide reports whether the uncertainty is not small against Z itself.
func (c *cloud) wide() bool {
	z := complex(c.y[outRe], c.y[outIm])
	if z == 0 || cmplx.IsNaN(z) || cmplx.IsInf(z) {
		return true
	}
	off := 0
	for t, re := range c.columns[outRe] {
		if cmplx.Abs(complex(re, c.columns[outIm][t])/z-1) > wideRatio {
			off++
		}
	}
	return float64(off) > wideShare*float64(c.n)
}

// plane is a way to look at Z in which a region is made.
type plane struct {
	x, y     []float64
	re, im   int // the outputs that they are, but for the logarithm
	estimate point
	ohm      func(p point) complex128 // infinite at Y = 0
	zero     *point                   // where Z or Y vanishes; nil in the logarithmic one
	passive  func(p point) bool
	limit    func(r region) region // to what is passive
}

// impedancePlane is that of Z.
func (c *cloud) impedancePlane() *plane {
	return c.halfPlane(outRe, outIm, func(p point) complex128 { return complex(p.x, p.y) })
}

// admittancePlane is that of Y.
func (c *cloud) admittancePlane() *plane {
	return c.halfPlane(outG, outB, func(p point) complex128 {
		if p == (point{}) {
			return cmplx.Inf()
		}
		return 1 / complex(p.x, p.y)
	})
}

func (c *cloud) halfPlane(re, im int, ohm func(point) complex128) *plane {
	return &plane{
		x: c.columns[re], y: c.columns[im], re: re, im: im, estimate: point{c.y[re], c.y[im]}, ohm: ohm, zero: &point{},
		passive: func(p point) bool { return p.x >= 0 },
		limit:   func(r region) region { return r.clip(-1, 0, 0) },
	}
}

// logPlane is that of ln|Z| and the phase.
func (c *cloud) logPlane() *plane {
	logs := make([]float64, c.n)
	for t, m := range c.columns[outModulus] {
		logs[t] = math.Log(math.Max(m, math.SmallestNonzeroFloat64))
	}
	quarter := math.Pi / 2
	return &plane{
		x: logs, y: c.columns[outPhase], estimate: point{math.Log(c.y[outModulus]), c.y[outPhase]},
		ohm:     func(p point) complex128 { return cmplx.Rect(math.Exp(p.x), p.y) },
		passive: func(p point) bool { return math.Abs(p.y) <= quarter },
		limit:   func(r region) region { return r.clip(0, 1, quarter).clip(0, -1, quarter) },
	}
}

// modulusKnown is the range of ln|Z|, as a standard deviation, up to which a wide sample
// is one of its direction alone.
const modulusKnown = 0.25

// straightest chooses the plane in which the sample lies about its estimate. Where |Z| is
// known and its direction is not, that is the logarithmic one; elsewhere something is
// added to Z or to Y.
func (c *cloud) straightest() *plane {
	if finite(c.y[outPhase]) && c.y[outModulus] > 0 {
		p := c.logPlane()
		copy(c.scratch, p.x)
		if low, high := order.Kth(c.scratch, c.n/40), order.Kth(c.scratch, c.n-1-c.n/40); high-low < 2*normal95*modulusKnown {
			return p
		}
	}
	z, y := c.impedancePlane(), c.admittancePlane()
	if c.skew(y) < c.skew(z) || c.tails() > 2 {
		return y
	}
	return z
}

// region returns where the part is with 95 % in every direction, of what is passive, and
// the estimate within it. A sample most of which is not passive says that something about
// the jig is far from what is usual: then all that is passive in a region of 99.8 % counts,
// for the few passive draws of such a sample hardly show how far it reaches.
func (p *plane) region(scratch []float64) (r region, at point) {
	passive := 0
	for t, x := range p.x {
		if p.passive(point{x, p.y[t]}) {
			passive++
		}
	}
	r = regionOf(p.x, p.y, scratch)
	switch share := float64(passive) / float64(len(p.x)); {
	case share < nonPassiveLevel:
		return r, r.nearest(p.estimate) // not passive at all: as it is
	case share < 0.5 && !p.passive(p.estimate):
		r = r.grown(p.estimate, zeroNear)
	}
	if r = p.limit(r); passive < len(p.x)/20 && p.zero != nil {
		r = r.with(*p.zero) // so far from usual that no more than a bound is believed
	}
	return r, r.nearest(p.estimate)
}

// reach is a region with zero where that is near.
func (p *plane) reach(r region, at point) region {
	if p.zero != nil && p.limit(r.grown(at, zeroNear)).holds(*p.zero) {
		return r.with(*p.zero)
	}
	return r
}

// zeroNear is by how much a region may grow before it reaches zero where an end of the
// reciprocal says nothing: 1.6 makes 95 % 99.8 %. Of Y = 1 ± 0.33 the end of Z is no end.
const zeroNear = 1.6

// ranges are the ends of every figure over a region.
type ranges struct {
	re, im, modulus, phase, g, b, ymodulus, loss span
	at                                           complex128 // the estimate
}

// span is a range that grows.
type span struct{ low, high float64 }

func nothing() span { return span{math.Inf(1), math.Inf(-1)} }

func (s *span) take(v float64) {
	if !math.IsNaN(v) {
		s.low, s.high = math.Min(s.low, v), math.Max(s.high, v)
	}
}

// ranges of the figures over a region: all of them have their ends on its edge, for none
// has a stationary point inside, where zero is not inside.
func (p *plane) ranges(r region, at point) ranges {
	s := ranges{nothing(), nothing(), nothing(), nothing(), nothing(), nothing(), nothing(), nothing(), p.ohm(at)}
	r.edge(func(q point) { s.take(p.ohm(q)) })
	s.take(s.at)
	if p.zero == nil || !r.holds(*p.zero) {
		return s
	}
	// About zero every direction that the region has there is possible.
	size := 0.0
	for _, q := range r {
		size = math.Max(size, math.Hypot(q.x-p.zero.x, q.y-p.zero.y))
	}
	for k := range 64 {
		sin, cos := math.Sincos(2 * math.Pi * float64(k) / 64)
		if q := (point{p.zero.x + 1e-9*size*cos, p.zero.y + 1e-9*size*sin}); r.holds(q) {
			s.take(p.ohm(q))
		}
	}
	s.unbound(p.ohm(*p.zero))
	return s
}

func (s *ranges) take(z complex128) {
	y := inverse(z)
	if cmplx.IsInf(z) || z == 0 {
		return
	}
	s.re.take(real(z))
	s.im.take(imag(z))
	s.modulus.take(cmplx.Abs(z))
	s.phase.take(cmplx.Phase(z))
	s.g.take(real(y))
	s.b.take(imag(y))
	s.ymodulus.take(cmplx.Abs(y))
	s.loss.take(real(z) / math.Abs(imag(z)))
}

// unbound lets what is large about zero be infinite, and what is small there zero.
func (s *ranges) unbound(z complex128) {
	if cmplx.IsInf(z) {
		s.modulus.high, s.ymodulus.low = math.Inf(1), 0
		s.re, s.im = s.re.unbound(), s.im.unbound()
		return
	}
	s.modulus.low, s.ymodulus.high = 0, math.Inf(1)
	s.g, s.b = s.g.unbound(), s.b.unbound()
}

// unbound widens a range without limit to the sides that it has of zero.
func (s span) unbound() span {
	if s.low < 0 {
		s.low = math.Inf(-1)
	}
	if s.high > 0 {
		s.high = math.Inf(1)
	}
	s.take(0)
	return s
}

// quantity makes one of a range and its estimate; without both ends it has no value. The
// standard uncertainty is that of a normal quantity with this interval. A range that says
// nothing is absent.
func (s span) quantity(value float64) uncertain.Quantity {
	if math.IsInf(s.high, 1) && (math.IsInf(s.low, -1) || s.low == 0) || math.IsNaN(s.low+s.high) {
		return uncertain.Absent()
	}
	q := uncertain.Quantity{Value: value, U: (s.high - s.low) / (2 * normal95), Low: s.low, High: s.high}
	if math.IsInf(s.low, 0) || math.IsInf(s.high, 0) || !finite(value) {
		q.Value, q.U = math.NaN(), math.NaN()
	}
	return q
}

// positive is the part of a range that is not negative.
func (s span) positive() span { return span{math.Max(s.low, 0), math.Max(s.high, 0)} }

// upTo is the positive part of a range about zero, no shorter than half of it: an estimate
// that happens to lie far on the other side does not make the measurement any finer (the
// power constraint of G. Cowan, K. Cranmer, E. Gross, O. Vitells, arXiv:1105.3166, from
// memory).
func (s span) upTo() span {
	return span{0, math.Max(s.high, (s.high-s.low)/2)}
}

// times is the range times a number.
func (s span) times(f float64) span {
	if f < 0 {
		return span{s.high * f, s.low * f}
	}
	return span{s.low * f, s.high * f}
}

// reciprocal is that of a range that is not negative.
func (s span) reciprocal() span { return span{1 / s.high, 1 / s.low} }

// readWide fills in a reading from a region.
func (c *cloud) readWide(r *Reading, s ranges) {
	z, y, w := s.at, inverse(s.at), 2*math.Pi*r.FreqHz.Value
	r.Re, r.Im = s.re.quantity(real(z)), s.im.quantity(imag(z))
	if finite(r.Re.U) && finite(r.Im.U) && c.u[outRe] > 0 && c.u[outIm] > 0 {
		r.Correlation = c.cov.At(outRe, outIm) / (c.u[outRe] * c.u[outIm])
	}
	r.Modulus, r.Phase = s.modulus.quantity(cmplx.Abs(z)), s.phase.quantity(cmplx.Phase(z))
	r.Y = Admittance{G: s.g.quantity(real(y)), B: s.b.quantity(imag(y)), Modulus: s.ymodulus.quantity(cmplx.Abs(y))}
	if s.re.high > 0 {
		r.Series.R = s.re.positive().quantity(math.Max(real(z), 0))
		r.Parallel.R = s.g.positive().reciprocal().quantity(1 / math.Max(real(y), 0))
	}
	inductive, inverse := s.im.times(1/w), s.b.times(-w) // L in series, 1/L in parallel
	elastance, capacitive := s.im.times(-w), s.b.times(1/w)
	switch unknown := math.NaN(); {
	case s.im.low >= 0:
		r.Series.L = inductive.quantity(imag(z) / w)
		r.Parallel.L = inverse.positive().reciprocal().quantity(-1 / (w * imag(y)))
	case s.im.high <= 0:
		r.Series.C = elastance.positive().reciprocal().quantity(-1 / (w * imag(z)))
		r.Parallel.C = capacitive.quantity(imag(y) / w)
	default: // if it is the one, it is at most or at least so much
		r.Series.L, r.Series.C = inductive.upTo().quantity(unknown), elastance.upTo().reciprocal().quantity(unknown)
		r.Parallel.C, r.Parallel.L = capacitive.upTo().quantity(unknown), inverse.upTo().reciprocal().quantity(unknown)
	}
	if s.re.high > 0 {
		loss := s.loss.positive()
		if s.im.low < 0 && s.im.high > 0 {
			loss.high = math.Inf(1)
		}
		d := math.Max(real(z), 0) / math.Abs(imag(z))
		r.D, r.Q = loss.quantity(d), loss.reciprocal().quantity(1/d)
	}
	r.Dominance, r.Passivity = c.dominance(), c.passivity()
}
