package uncertain

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// convolution is the distribution of a spread, as a mixture of atoms, each
// smeared over a rectangle and a scaled Student variable:
//
//	F(x) = Σ_j m_j [H(x − s_j + w) − H(x − s_j − w)]/(2w),  H' = F_Student
//
// The rectangle is the widest rectangular piece itself, so that one rectangle
// with a normal part is exact. The other pieces become atoms on a grid, which
// are then stretched to have the right variance.
type convolution struct {
	at, mass  []float64
	smear     float64 // w, half-width
	u, dof    float64
	low, high float64 // bounds of the sum without the Student part
}

// The grid has gridSteps over the support of everything that becomes atoms, or
// fineSteps where nothing evens out what lies between two of them: with little of
// a Student part F is made of straight lines, and a wide piece beside a narrow
// rectangle shows its steep ends. Ends of intervals are then good to 4·10⁻⁵ of the
// half-width (3·10⁻⁴ for an arcsine alone), as the tests show.
const (
	gridSteps = 64
	fineSteps = 1024
	evenedOut = 8 // half-widths of the rectangle
)

func newConvolution(s spread) *convolution {
	c := &convolution{u: s.u, dof: s.dof}
	rest := s.pieces
	if i := widestBox(s.pieces); i >= 0 {
		c.smear = s.pieces[i].high
		rest = slices.Delete(slices.Clone(s.pieces), i, i+1)
	}
	span, variance, steps := 0.0, 0.0, gridSteps
	for _, p := range rest {
		span += p.high - p.low
		variance += p.u * p.u
		if !p.box && p.high-p.low > evenedOut*c.smear {
			steps = fineSteps
		}
	}
	if s.u < span/gridSteps {
		steps = fineSteps
	}
	step := span / float64(steps)
	switch {
	case c.smear == 0:
		c.smear = step / 2
		variance -= step * step / 12
	case step > 0: // a whole number of steps across the rectangle leaves no ripple
		step = 2 * c.smear / math.Ceil(2*c.smear/step)
	}
	c.low, c.high = -c.smear, c.smear
	for _, p := range rest {
		c.low, c.high = c.low+p.low, c.high+p.high
	}
	c.at, c.mass = atoms(rest, step, variance)
	return c
}

// widestBox is the index of the widest rectangular piece; −1 if there is none.
func widestBox(pieces []piece) int {
	widest := -1
	for i, p := range pieces {
		if p.box && (widest < 0 || p.high > pieces[widest].high) {
			widest = i
		}
	}
	return widest
}

// atoms adds the pieces up on a grid and stretches it to the variance given.
func atoms(pieces []piece, step, variance float64) (at, mass []float64) {
	mass, first := []float64{1}, 0
	for _, p := range pieces {
		m, k := bins(p, step)
		mass, first = convolve(mass, m), first+k
	}
	at = make([]float64, len(mass))
	mean, square := 0.0, 0.0
	for j := range at {
		at[j] = float64(first+j) * step
		mean += mass[j] * at[j]
	}
	for j := range at {
		at[j] -= mean
		square += mass[j] * at[j] * at[j]
	}
	if square > 0 {
		stretch := math.Sqrt(variance / square)
		for j := range at {
			at[j] *= stretch
		}
	}
	return at, mass
}

// bins shares a piece out among the multiples of step, from the multiple first
// on. Whatever lies between two of them goes to both in proportion: with I the
// integral of the distribution function,
//
//	m_j = [I((j+1)h) − 2 I(jh) + I((j−1)h)]/h
//
// which keeps the mean and adds a variance of h²/6; sharpen takes that off again,
// for which an empty cell at each end leaves room.
func bins(p piece, step float64) (mass []float64, first int) {
	first = int(math.Floor(p.low/step)) - 1
	last := int(math.Ceil(p.high/step)) + 1
	mass = make([]float64, last-first+1)
	area := func(j int) float64 {
		switch x := float64(first+j) * step; {
		case x <= p.low:
			return 0
		case x >= p.high: // the mean is zero, so that I(high) = high
			return x
		default:
			return p.area(x)
		}
	}
	for j := range mass {
		mass[j] = (area(j+1) - 2*area(j) + area(j-1)) / step
	}
	return sharpen(mass), first
}

// sharpen takes the variance of h²/6 that bins adds off again: a twelfth of the
// second difference. Masses may turn negative; they are weights of a quadrature.
func sharpen(mass []float64) []float64 {
	out := make([]float64, len(mass))
	for j, m := range mass {
		out[j] = m + m/6
		if j > 0 {
			out[j] -= mass[j-1] / 12
		}
		if j < len(mass)-1 {
			out[j] -= mass[j+1] / 12
		}
	}
	return out
}

func convolve(a, b []float64) []float64 {
	out := make([]float64, len(a)+len(b)-1)
	for i, x := range a {
		for j, y := range b {
			out[i+j] += x * y
		}
	}
	return out
}

// distribution returns F(x) and its derivative.
func (c *convolution) distribution(x float64) (cdf, density float64) {
	for j, m := range c.mass {
		d := x - c.at[j]
		area, slope := c.hinge(d + c.smear)
		area0, slope0 := c.hinge(d - c.smear)
		cdf += m * (area - area0)
		density += m * (slope - slope0)
	}
	return cdf / (2 * c.smear), density / (2 * c.smear)
}

// hinge is the distribution function of the Student part (slope) and its
// integral up to a constant (area), u·H(x/u) with
//
//	H(z) = z F(z) + (ν+z²)/(ν−1) f(z),   H(z) = z F(z) − ln(1+z²)/(2π) for ν = 1.
func (c *convolution) hinge(x float64) (area, slope float64) {
	if c.u == 0 {
		if x < 0 {
			return 0, 0
		}
		return x, 1
	}
	z := x / c.u
	switch {
	case c.dof > knownDof:
		slope = 0.5 * math.Erfc(-z/math.Sqrt2)
		area = z*slope + math.Exp(-z*z/2)/math.Sqrt(2*math.Pi)
	case c.dof < 1.01: // the formula below cancels; 1 is on the safe side
		slope = 0.5 + math.Atan(z)/math.Pi
		area = z*slope - math.Log1p(z*z)/(2*math.Pi)
	default:
		t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: c.dof}
		slope = t.CDF(z)
		area = z*slope + (c.dof+z*z)/(c.dof-1)*t.Prob(z)
	}
	return c.u * area, slope
}

// quantileTol, of probability: far below the digits anyone reads.
const quantileTol = 1e-9

// quantile solves F(x) = q by Newton's method, kept between bounds that hold the
// answer for certain, from the normal one (the whole has unit variance).
func (c *convolution) quantile(q float64) float64 {
	reach := 0.0
	if c.u > 0 {
		reach = c.u * CoverageFactor(math.Abs(2*q-1), c.dof)
	}
	a, b := c.low-reach, c.high+reach
	x := math.Sqrt2 * math.Erfinv(2*q-1)
	for range 200 {
		if !(x > a && x < b) {
			x = (a + b) / 2
		}
		cdf, density := c.distribution(x)
		miss := cdf - q
		if math.Abs(miss) < quantileTol || x == a || x == b {
			break
		}
		if miss < 0 {
			a = x
		} else {
			b = x
		}
		x -= miss / density
	}
	return x
}
