package trouble

import (
	"math"

	"example.org/wheatear/lockin/internal/num"
	"gonum.org/v1/gonum/mat"
)

// flatPart is what the static curve of a channel shows: recorded value against
// what the fitted tones ask for.
type flatPart struct {
	Flat bool
	// Top and Bottom are the values of the tone beyond which the curve is flat,
	// +Inf and −Inf where that side is sound; TopLevel and BottomLevel the values
	// recorded there.
	Top, Bottom           float64
	TopLevel, BottomLevel float64
	Depth                 float64 // how far the tone rises above the flat part, of its own peak
	T                     float64 // the kink in standard deviations, the larger of both sides
	Slope                 float64 // of the flat part, that of the whole curve = 1
	Left                  float64 // what polynomial and kinks leave, of what the polynomial alone left
}

const (
	curveBins   = 256  // equal steps of the angle whose cosine the tone is
	curveDegree = 7    // of the polynomial that takes smooth distortion; less where bins are few
	curveFewest = 12   // bins with samples in them
	kinkLimit   = 6.5  // standard deviations; 4.6 is passed by one clean record in 1000
	flatSlope   = 0.1  // a flat part rises by less than this part of the whole
	flatSpread  = 0.01 // and is level within this part of what the tone rises beyond the kink
	mostLeft    = 0.3
)

// findFlatPart averages the samples x over equal values of the tone and fits two
// curves to the averages: a polynomial, and the same with a kink near either end.
// Clipping makes a straight line with kinks into flat ends; smooth saturation is
// followed by the polynomial. Harmonics, hum and noise drop out of the averages or
// into the polynomial. A flat part is claimed where a kink stands kinkLimit
// standard deviations above the scatter of the averages, the curve beyond it is
// flat, and polynomial and kinks together leave no more than mostLeft of what the
// polynomial alone left.
func findFlatPart(x, tone []float64) flatPart {
	f := flatPart{Top: math.Inf(1), Bottom: math.Inf(-1)}
	c := newCurve(x, tone)
	if len(c.v) < curveFewest {
		return f
	}
	poly := c.fit(nil)
	if poly == nil {
		return f
	}
	kinks := []kink{c.bestKink(poly, 1), c.bestKink(poly, -1)}
	full := c.fit(kinks)
	if full == nil {
		return f
	}
	before := c.excess(poly)
	if before == 0 {
		return f // the polynomial explains all
	}
	f.Left = c.excess(full) / before
	for i, k := range kinks {
		t := -float64(k.side) * full.coef[c.degree+1+i] / full.u[c.degree+1+i]
		slope, level, flat := c.flat(k)
		if t > f.T {
			f.T, f.Slope = t, slope
		}
		if t < kinkLimit || !flat || f.Left > mostLeft {
			continue
		}
		f.take(k, level, c.vmax)
	}
	return f
}

func (f *flatPart) take(k kink, level, vmax float64) {
	f.Flat = true
	f.Depth = math.Max(f.Depth, 1-k.at)
	if k.side > 0 {
		f.Top, f.TopLevel = k.at*vmax, level
	} else {
		f.Bottom, f.BottomLevel = -k.at*vmax, level
	}
}

// curve holds averages over bins of the tone: v its mean as a part of vmax, y the
// mean of the samples, n how many, and the pooled variance within bins.
type curve struct {
	v, y, n  []float64
	vmax     float64
	variance float64
	degree   int // of the polynomials fitted
}

func newCurve(x, tone []float64) *curve {
	lo, hi := num.MinMax(tone)
	c := &curve{vmax: math.Max(hi, -lo)}
	if !(c.vmax > 0) {
		return c
	}
	bins := max(4*curveFewest, min(curveBins, len(x)/24))
	edge := acosTable(bins)
	var n, v, y, yy [curveBins]float64
	for i, t := range tone {
		u := t / c.vmax
		b := edge.bin(u)
		n[b]++
		v[b] += u
		y[b] += x[i]
		yy[b] += (x[i] - t) * (x[i] - t)
	}
	within, dof := 0.0, 0.0
	for b := range n[:bins] {
		if n[b] < 2 {
			continue
		}
		mv, my := v[b]/n[b], y[b]/n[b]
		c.v, c.y, c.n = append(c.v, mv), append(c.y, my), append(c.n, n[b])
		within += math.Max(0, yy[b]-n[b]*num.Sq(my-mv*c.vmax))
		dof += n[b] - 1
	}
	c.variance = within / math.Max(dof, 1)
	c.degree = max(3, min(curveDegree, len(c.v)/4-1))
	return c
}

// acosGrid finds the bin of an angle without computing it.
type acosGrid struct {
	bins  int
	table [1025]uint8
	edge  []float64 // falling: bin b holds edge[b] >= u > edge[b+1]
}

func acosTable(bins int) *acosGrid {
	g := &acosGrid{bins: bins, edge: make([]float64, bins+1)}
	for b := range g.edge {
		g.edge[b] = math.Cos(math.Pi * float64(b) / float64(bins))
	}
	b := 0
	for i := range g.table { // from u = 1 down to −1
		u := 1 - float64(i)/512
		for b < bins-1 && u <= g.edge[b+1] {
			b++
		}
		g.table[i] = uint8(b)
	}
	return g
}

func (g *acosGrid) bin(u float64) int {
	b := int(g.table[max(0, min(1024, int((1-u)*512)))])
	for b < g.bins-1 && u <= g.edge[b+1] {
		b++
	}
	return b
}

// kink is a bend of the curve at the part at of its range, on one side.
type kink struct {
	side int // 1 top, −1 bottom
	at   float64
}

func (k kink) value(v float64) float64 { return math.Max(0, float64(k.side)*v-k.at) }

// curveFit is a weighted least-squares fit of Chebyshev polynomials and kinks.
type curveFit struct {
	coef, u  []float64 // with standard uncertainties from the scatter
	residual []float64
	chol     mat.Cholesky
}

// row fills the base functions at v: polynomials first, then the kinks.
func (c *curve) row(dst []float64, v float64, kinks []kink) {
	dst[0], dst[1] = 1, v
	for k := 2; k <= c.degree; k++ {
		dst[k] = 2*v*dst[k-1] - dst[k-2]
	}
	for i, k := range kinks {
		dst[c.degree+1+i] = k.value(v)
	}
}

func (c *curve) fit(kinks []kink) *curveFit {
	p := c.degree + 1 + len(kinks)
	gram, rhs, b := mat.NewSymDense(p, nil), mat.NewVecDense(p, nil), make([]float64, p)
	for m, v := range c.v {
		c.row(b, v, kinks)
		for i := range b {
			rhs.SetVec(i, rhs.AtVec(i)+c.n[m]*b[i]*c.y[m])
			for j := 0; j <= i; j++ {
				gram.SetSym(i, j, gram.At(i, j)+c.n[m]*b[i]*b[j])
			}
		}
	}
	f := &curveFit{residual: append([]float64(nil), c.y...)}
	if !f.chol.Factorize(gram) || f.chol.Cond() > 1e14 {
		return nil
	}
	coef := mat.NewVecDense(p, nil)
	if f.chol.SolveVecTo(coef, rhs) != nil {
		return nil
	}
	f.coef = coef.RawVector().Data
	for m, v := range c.v {
		c.row(b, v, kinks)
		for i := range b {
			f.residual[m] -= f.coef[i] * b[i]
		}
	}
	f.setU(c, p)
	return f
}

// setU takes the variance from the scatter of the averages about the fit or of the
// samples within the bins, whichever is larger, and at least what rounding leaves.
func (f *curveFit) setU(c *curve, p int) {
	s2 := c.chi(f) / float64(max(1, len(c.v)-p))
	s2 = math.Max(math.Max(s2, c.variance), 1e-26*c.vmax*c.vmax)
	var inv mat.SymDense
	f.u = make([]float64, p)
	if f.chol.InverseTo(&inv) != nil {
		return
	}
	for i := range f.u {
		f.u[i] = math.Sqrt(s2 * inv.At(i, i))
	}
}

func (c *curve) chi(f *curveFit) float64 {
	s := 0.0
	for m, r := range f.residual {
		s += c.n[m] * r * r
	}
	return s
}

// excess is the misfit beyond what the samples' own scatter explains.
func (c *curve) excess(f *curveFit) float64 {
	return math.Max(0, c.chi(f)-c.variance*float64(len(c.v)-len(f.coef)))
}

// bestKink returns the kink on one side that takes most from the misfit of the
// polynomial, in the direction that clipping bends.
func (c *curve) bestKink(poly *curveFit, side int) kink {
	best, gain := kink{side: side, at: 0.999}, 0.0
	for angle := 3.0; angle < 0.47*curveBins; angle += math.Max(1, math.Floor(angle/16)) {
		k := kink{side, math.Cos(math.Pi * angle / curveBins)}
		g, ok := c.gain(poly, k)
		if ok && g > gain {
			best, gain = k, g
		}
	}
	return best
}

// gain is the reduction of the weighted misfit by adding one kink to the
// polynomial; ok is false where the kink has no samples or bends the wrong way.
func (c *curve) gain(poly *curveFit, k kink) (g float64, ok bool) {
	p := c.degree + 1
	b, cross := make([]float64, p), mat.NewVecDense(p, nil)
	var hr, hh float64
	hit := 0
	for m, v := range c.v {
		h := k.value(v)
		if h == 0 {
			continue
		}
		hit++
		c.row(b, v, nil)
		hr += c.n[m] * h * poly.residual[m]
		hh += c.n[m] * h * h
		for i := range b {
			cross.SetVec(i, cross.AtVec(i)+c.n[m]*h*b[i])
		}
	}
	sol := mat.NewVecDense(p, nil)
	if hit < 2 || hr*float64(k.side) >= 0 || poly.chol.SolveVecTo(sol, cross) != nil {
		return 0, false
	}
	left := hh - mat.Dot(sol, cross)
	return hr * hr / left, left > 1e-9*hh
}

// flat says that the averages beyond a kink lie on a level and how high it is. The
// first quarter is left out: the kink itself lies between two averages, and noise
// rounds it. Both the slope, relative to that of the whole curve, and the spread
// about the mean, relative to the rise there would be without the kink, must be
// small or explained by noise.
func (c *curve) flat(k kink) (slope, level float64, ok bool) {
	whole := c.line(func(float64) bool { return true })
	part := c.line(func(v float64) bool { return k.value(v) > (1-k.at)/4 })
	if whole.slope == 0 || part.n == 0 {
		return math.Inf(1), part.mean, false
	}
	slope = part.slope / whole.slope
	u := math.Sqrt(c.variance/math.Max(part.svv, 1e-300)) / math.Abs(whole.slope)
	rise := (flatSpread + 0.2/part.bins) * (1 - k.at) * math.Abs(whole.slope) // the kink is placed to half a bin
	spread := part.spread <= rise*rise+2*c.variance*part.bins/part.n
	return slope, part.mean, math.Abs(slope) <= flatSlope+3*u && spread
}

// regression is a weighted line through averages.
type regression struct {
	n, bins, mean, slope float64
	svv                  float64 // weighted sum of squares of v about its mean
	spread               float64 // weighted mean square of y about its mean
}

// line is the regression of the averages that keep selects.
func (c *curve) line(keep func(v float64) bool) regression {
	var r regression
	var sv, sy, svv, svy, syy float64
	for m, v := range c.v {
		if keep(v) {
			r.bins++
			r.n += c.n[m]
			sv += c.n[m] * v
			sy += c.n[m] * c.y[m]
			svv += c.n[m] * v * v
			svy += c.n[m] * v * c.y[m]
			syy += c.n[m] * c.y[m] * c.y[m]
		}
	}
	if r.n == 0 {
		return r
	}
	r.mean = sy / r.n
	r.svv = svv - sv*sv/r.n
	r.spread = math.Max(0, syy/r.n-r.mean*r.mean)
	if r.svv > 0 {
		r.slope = (svy - sv*sy/r.n) / r.svv
	}
	return r
}
