package impedance

import (
	"math"
	"math/cmplx"

	"example.org/wheatear/lockin/uncertain"
)

// The outputs that are propagated together. C and L appear on the side where
// they pass through zero, not through infinity, when X or B changes sign: the
// elastance 1/C_s and the inverse 1/L_p are turned round at the very end.
const (
	outRe = iota
	outIm
	outHz
	outModulus
	outPhase // about the estimate, so that it has no jump within the sample
	outG
	outB
	outSeriesL
	outElastance // 1/C_s = −ωX
	outParallelC
	outInverseL // 1/L_p = −ωB
	outLoss     // R/|X|
	outQuality  // |X|/R
	outTangent  // X/R, smooth where |X|/R has a corner
	outAdmittance
	outputs
)

// expand makes the model of all outputs from one of Re Z, Im Z and frequency, and
// returns Z at the estimates with it. It keeps its scratch space: not for two
// runs at a time.
func expand(in *uncertain.Inputs, f uncertain.Func) (all uncertain.Func, estimate complex128) {
	m := make([]float64, 3)
	f(m, in.Values())
	estimate = complex(m[0], m[1])
	z0 := estimate
	if cmplx.IsNaN(z0) || cmplx.IsInf(z0) {
		z0 = 1
	}
	return func(dst, x []float64) {
		f(m, x)
		derive(dst, complex(m[0], m[1]), m[2], z0)
	}, estimate
}

// derive writes all outputs of one impedance.
func derive(dst []float64, z complex128, freqHz float64, z0 complex128) {
	omega := 2 * math.Pi * freqHz
	y := inverse(z)
	r, x := real(z), imag(z)
	dst[outRe], dst[outIm], dst[outHz] = r, x, freqHz
	dst[outModulus] = math.Hypot(r, x)
	dst[outPhase] = cmplx.Phase(z0) + cmplx.Phase(z*cmplx.Conj(z0))
	dst[outG], dst[outB] = real(y), imag(y)
	dst[outSeriesL], dst[outElastance] = x/omega, -omega*x
	dst[outParallelC], dst[outInverseL] = imag(y)/omega, -omega*imag(y)
	dst[outLoss], dst[outQuality] = r/math.Abs(x), math.Abs(x)/r
	dst[outTangent], dst[outAdmittance] = x/r, cmplx.Abs(y)
}
