package circuit

import (
	"math"
	"math/cmplx"
)

// This file: elements whose current or flux is pushed out of a conductor.
//
// Round wire. Symbols of Rosa and Grover, Bull. Bur. Stand. 8 (1912): radius a,
// skin depth δ = √(2ρ/(ωµ)). At the corner frequency fc the skin depth is the
// radius, so that a/δ = √(f/fc) and v = (1+j) a/δ:
//
//	Z = R (v/2) I0(v)/I1(v)
//
// which is (κa/2) J0(κa)/J1(κa) with κ = (1−j)/δ.

// roundWire holds the internal inductance too, R/(4·2π fc) at low frequencies.
func roundWire(w float64, p []float64, d []complex128) complex128 {
	v, ok := cornerRoot(w, p[1])
	if !ok || v == 0 {
		return atCorner(w, p, d, p[0])
	}
	q := besselRatio(v)
	shape := v / 2 * q
	if d != nil {
		slope := q/2 + v/2*(1-q*q+q/v) // of the shape, by v
		d[0] = shape
		d[1] = complex(-p[0]/(2*p[1]), 0) * v * slope
	}
	return complex(p[0], 0) * shape
}

// eddyCore is an inductance on a core of sheets or of one slab: the flux leaves the
// middle of each as the frequency rises. At fc the skin depth is half the thickness.
//
//	Z = jωL tanh(s)/s,  s = (1+j)√(f/fc)
//
// Source: the one-dimensional eddy-current solution in any text on magnetics, e.g.
// Lammeraner and Štafl, Eddy Currents, 1966 (from memory).
func eddyCore(w float64, p []float64, d []complex128) complex128 {
	s, ok := cornerRoot(w, p[1])
	if !ok {
		return atCorner(w, p, d, 0)
	}
	shape, slope := tanhOver(s)
	jw := complex(0, w)
	if d != nil {
		d[0] = jw * shape
		d[1] = jw * complex(-p[0]/(2*p[1]), 0) * s * slope
	}
	return jw * complex(p[0], 0) * shape
}

// openLine is a capacitance reached through a resistance that is spread along it,
// as in the pores of an etched foil: 1/(jωC) + R/3 at low frequencies, a constant
// phase of −45 degrees at high ones.
//
//	Z = R coth(s)/s,  s = √(jωRC)
//
// Source: de Levie, Electrochim. Acta 8 (1963) 751.
func openLine(w float64, p []float64, d []complex128) complex128 {
	if w*p[0] == 0 {
		return nothing
	}
	s := cmplx.Sqrt(complex(0, w*p[0]*p[1]))
	shape, slope := tanhOver(s) // tanh(s)/s; coth(s)/s is 1/(s² shape)
	line := 1 / (complex(0, w*p[0]) * shape)
	if d != nil {
		relative := -s * slope / (2 * shape) // s/2 times the slope of ln(1/shape)
		d[0] = line * (relative - 1) / complex(p[0], 0)
		d[1] = 0
		if p[1] != 0 {
			d[1] = line * relative / complex(p[1], 0)
		}
	}
	return line
}

// cornerRoot returns (1+j)√(f/fc); false where that is no finite number.
func cornerRoot(w, cornerHz float64) (complex128, bool) {
	x := math.Sqrt(w / (2 * math.Pi * cornerHz))
	return complex(x, x), !math.IsNaN(x) && !math.IsInf(x, 0)
}

// atCorner is a wire or coil at a corner frequency of zero, where nothing of it is
// left to carry current or flux: without end, or nothing for a coil; and a wire at
// frequency zero.
func atCorner(w float64, p []float64, d []complex128, dc float64) complex128 {
	for i := range d {
		d[i] = 0
	}
	if w == 0 {
		if d != nil && dc != 0 {
			d[0] = 1
		}
		return complex(dc, 0)
	}
	if dc != 0 {
		return nothing
	}
	return 0
}

// besselRatio returns I0(v)/I1(v) for Re v > 0: the continued fraction of the ratio
// from its tail (Abramowitz and Stegun 9.1.73), or the expansions for a large
// argument (9.7.1), whose last term kept is below 1e-15 from |v| = 60 on.
func besselRatio(v complex128) complex128 {
	if cmplx.Abs(v) > 60 {
		return largeBessel(v, 0) / largeBessel(v, 1)
	}
	var r complex128
	for k := int(1.5*cmplx.Abs(v)) + 25; k >= 1; k-- {
		r = 1 / (complex(float64(2*k), 0)/v + r)
	}
	return 1 / r
}

// largeBessel returns Iν(v) e^−v √(2πv) for a large argument.
func largeBessel(v complex128, order float64) complex128 {
	sum, term := complex(1, 0), complex(1, 0)
	for k := 1.0; k <= 10; k++ {
		odd := 2*k - 1
		term *= complex(-(4*order*order-odd*odd)/(8*k), 0) / v
		sum += term
	}
	return sum
}

// tanhOver returns tanh(s)/s and its slope, for Re s ≥ 0. Near zero the series
// stand in: their first term left out is below 1e-16 there.
func tanhOver(s complex128) (shape, slope complex128) {
	if cmplx.Abs(s) < 0.02 {
		q := s * s
		shape = 1 - q*(1.0/3-q*(2.0/15-q*(17.0/315-q*62.0/2835)))
		slope = -s * (2.0/3 - q*(8.0/15-q*(34.0*3/315-q*62.0*8/2835)))
		return shape, slope
	}
	e := cmplx.Exp(-2 * s)
	t := (1 - e) / (1 + e)
	return t / s, ((1 - t*t) - t/s) / s
}
