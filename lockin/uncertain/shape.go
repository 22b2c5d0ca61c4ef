package uncertain

import "math"

// Shape is the distribution of a scalar input about its value.
type Shape uint8

const (
	// Normal is Gaussian, and Student's t where the input has finite Dof.
	Normal Shape = iota
	// Rectangular is uniform within a half-width of u·√3, as a tolerance is.
	Rectangular
	// Triangular is the sum of two equal rectangular ones; half-width u·√6.
	Triangular
	// Arcsine is U-shaped, a sine of unknown phase; half-width u·√2.
	Arcsine
	trapezoidal // reached by Trapezoid, which carries the ratio
	logUniform  // reached by AddLogUniform, which carries the limits
)

// U returns the standard uncertainty of a quantity known to lie within
// halfWidth of its value with this shape.
//
//	rectangular a/√3, triangular a/√6, arcsine a/√2
//
// For Normal the half-width is taken as that of a 95 % interval. The sign of
// halfWidth does not matter. Reference: JCGM 100:2008, 4.3.7 and 4.3.9;
// JCGM 101:2008, 6.4.
func (s Shape) U(halfWidth float64) float64 { return math.Abs(halfWidth) / s.divisor() }

// halfWidth returns the half-width that belongs to the standard uncertainty u,
// the inverse of U.
func (s Shape) halfWidth(u float64) float64 { return u * s.divisor() }

func (s Shape) divisor() float64 {
	switch s {
	case Rectangular:
		return math.Sqrt(3)
	case Triangular:
		return math.Sqrt(6)
	case Arcsine:
		return math.Sqrt2
	case Normal:
		return normal95
	}
	return math.NaN()
}

// normal95 is the 97.5 % quantile of the standard normal distribution.
const normal95 = 1.959963984540054

// Option refines an input given to Inputs.Add: a Shape, a Trapezoid or a Dof.
type Option interface{ refine(*group) }

// Dof is the number of degrees of freedom behind a normal input's u, at least
// 1; 0 and +Inf mean that u is known.
type Dof float64

// Trapezoid is the ratio of top to base of a symmetric trapezoidal
// distribution: 0 is triangular, 1 rectangular. Its half-width is
// u·√(6/(1+β²)). Reference: JCGM 100:2008, 4.3.9.
type Trapezoid float64

// U returns the standard uncertainty a·√((1+β²)/6) of a trapezoidal
// distribution of half-width a.
func (t Trapezoid) U(halfWidth float64) float64 {
	return math.Abs(halfWidth) * math.Sqrt((1+float64(t*t))/6)
}

func (s Shape) refine(g *group)     { g.shape = s }
func (d Dof) refine(g *group)       { g.dof = float64(d) }
func (t Trapezoid) refine(g *group) { g.shape, g.beta = trapezoidal, float64(t) }

// boxes splits a rectangular, triangular or trapezoidal distribution into the
// half-widths of the two rectangular ones that add up to it; ok is false for
// the other shapes.
func (g *group) boxes() (wide, narrow float64, ok bool) {
	beta := g.beta
	switch g.shape {
	case Rectangular:
		beta = 1
	case Triangular:
		beta = 0
	case trapezoidal:
	default:
		return 0, 0, false
	}
	half := g.u() * math.Sqrt(6/(1+beta*beta))
	return half * (1 + beta) / 2, half * (1 - beta) / 2, true
}
