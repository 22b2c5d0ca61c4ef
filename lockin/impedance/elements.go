package impedance

import (
	"math"
	"math/cmplx"
)

// Elements is everything that an exactly known impedance at an exactly known
// frequency gives. Signs are kept: inductive parts read a negative C and
// capacitive ones a negative L, and what is infinite is infinite.
//
// Source: elementary; IEC 60050-131 for the terms.
type Elements struct {
	ModulusOhm, PhaseRad      float64
	GS, BS                    float64 // Y = 1/Z = G + jB, siemens
	SeriesOhm, SeriesReactOhm float64 // Re Z (the equivalent series resistance) and Im Z
	SeriesF, SeriesH          float64 // −1/(ωX), X/ω
	ParallelOhm               float64 // 1/G
	ParallelF, ParallelH      float64 // B/ω, −1/(ωB)
	Q, D                      float64 // [1] |X|/R and R/|X|
}

// Of returns the elements of an impedance z in ohm at freqHz.
//
//	C_s = −1/(ωX)   L_s = X/ω   C_p = B/ω   L_p = −1/(ωB)   R_p = 1/G   Q = |X|/R = 1/D
//
// z = 0 has an infinite admittance and no phase (NaN), as have Q and D; a
// frequency of zero gives infinite or NaN elements. An infinite z has Y = 0.
func Of(z complex128, freqHz float64) Elements {
	omega := 2 * math.Pi * freqHz
	r, x := real(z), imag(z)
	y := inverse(z) + 0 // +0 turns −0 into 0: without loss R_p is +∞
	e := Elements{
		ModulusOhm: cmplx.Abs(z), PhaseRad: cmplx.Phase(z), GS: real(y), BS: imag(y),
		SeriesOhm: r, SeriesReactOhm: x, SeriesF: -1 / (omega * x), SeriesH: x / omega,
		ParallelOhm: 1 / real(y), ParallelF: imag(y) / omega, ParallelH: -1 / (omega * imag(y)),
		Q: math.Abs(x) / r, D: r / math.Abs(x),
	}
	if z == 0 {
		e.PhaseRad = math.NaN()
	}
	return e
}

// inverse is 1/z, scaled so that no square overflows, with 1/∞ = 0.
func inverse(z complex128) complex128 {
	if cmplx.IsInf(z) {
		return 0
	}
	return 1 / z
}
