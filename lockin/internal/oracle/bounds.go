// Package oracle holds what tests compare the estimators with: sine fits of IEEE Std 1057,
// Cramér–Rao bounds, and the noise of ideal converters and resistors.
package oracle

import (
	"fmt"
	"math"

	"example.org/wheatear/lockin/internal/num"
	"example.org/wheatear/lockin/internal/phase"
	"gonum.org/v1/gonum/mat"
)

// ToneBounds are the smallest standard uncertainties any unbiased estimator can
// have: the Cramér–Rao bounds for one real tone in white Gaussian noise.
type ToneBounds struct {
	Amplitude float64 // in the unit of the amplitude
	PhaseRad  float64 // at the first sample
	FreqHz    float64 // +Inf where the frequency counts as known: there is no bound to speak of
}

// ToneModel is the tone a bound is for: amplitude·cos(2πf·n/rate + phase), n = 0 …
// N−1, in noise of standard deviation sigma per sample.
type ToneModel struct {
	N            int
	RateHz       float64
	FreqHz       float64
	Amplitude    float64
	PhaseRad     float64
	Sigma        float64
	FreqKnown    bool // the frequency is given, not estimated
	OffsetWanted bool // an offset is estimated besides
}

// LargeN returns the bounds for many cycles in the record:
//
//	var A = 2σ²/N,  var φ = 1/(ηN) or 2(2N−1)/(ηN(N+1)),  var f = 12·rate²/((2π)²ηN(N²−1))
//
// with η = A²/(2σ²), the first of each pair with known frequency. Below about one
// cycle in the record they are wrong by factors: take Exact. Source: Rife and
// Boorstyn, IEEE Trans. Inf. Theory 20 (1974) 591; Kay, Fundamentals of
// Statistical Signal Processing, vol. 1 (1993), example 3.14.
func (m ToneModel) LargeN() ToneBounds {
	n, eta := float64(m.N), m.Amplitude*m.Amplitude/(2*m.Sigma*m.Sigma)
	out := ToneBounds{Amplitude: m.Sigma * math.Sqrt(2/n), PhaseRad: 1 / math.Sqrt(eta*n), FreqHz: math.Inf(1)}
	if m.FreqKnown {
		return out
	}
	out.PhaseRad = math.Sqrt(2 * (2*n - 1) / (eta * n * (n + 1)))
	out.FreqHz = m.RateHz / (2 * math.Pi) * math.Sqrt(12/(eta*n*(n*n-1)))
	return out
}

// Exact returns the bounds from the Fisher matrix, the sums of products of the
// gradient (cos θ, −A sin θ, −A·n·sin θ, 1) in amplitude, phase, frequency and
// offset, inverted. It errs where the record cannot tell the parameters apart; the
// error wraps [ErrFit]. Sources as for LargeN.
func (m ToneModel) Exact() (ToneBounds, error) {
	if err := phase.CheckFrequencies([]float64{m.FreqHz, m.PhaseRad}, m.RateHz); err != nil {
		return ToneBounds{}, err
	}
	if m.N < 1 || !(m.Amplitude > 0) || !(m.Sigma >= 0) {
		return ToneBounds{}, fmt.Errorf("%w: bounds of %d samples, amplitude %g, noise %g", ErrFit, m.N, m.Amplitude, m.Sigma)
	}
	fisher := m.fisher()
	var chol mat.Cholesky
	if !chol.Factorize(fisher) || chol.Cond() > sineCondition {
		return ToneBounds{}, fmt.Errorf("%w: %d samples at %g Hz do not tell the parameters of a tone of %g Hz apart", ErrFit, m.N, m.RateHz, m.FreqHz)
	}
	var cov mat.SymDense
	if err := chol.InverseTo(&cov); err != nil {
		return ToneBounds{}, fmt.Errorf("%w: %v", ErrFit, err)
	}
	u := func(i int) float64 { return m.Sigma * math.Sqrt(cov.At(i, i)) }
	out := ToneBounds{Amplitude: u(0), PhaseRad: u(1) / m.Amplitude, FreqHz: math.Inf(1)}
	if !m.FreqKnown {
		out.FreqHz = u(2) / m.Amplitude * m.RateHz / (2 * math.Pi * float64(m.N))
	}
	return out, nil
}

// fisher returns the matrix for unit noise and amplitude, frequency in radians
// over the whole record, so that its entries are alike in size.
func (m ToneModel) fisher() *mat.SymDense {
	columns := 2
	if !m.FreqKnown {
		columns++
	}
	if m.OffsetWanted {
		columns++
	}
	f, g := mat.NewSymDense(columns, nil), mat.NewVecDense(columns, nil)
	step := phase.TurnsOf(m.FreqHz, m.RateHz)
	for n := range m.N {
		s, c := step.Times(uint64(n)).Sincos()
		sp, cp := math.Sincos(m.PhaseRad)
		s, c = s*cp+c*sp, c*cp-s*sp
		g.SetVec(0, c)
		g.SetVec(1, -s)
		if !m.FreqKnown {
			g.SetVec(2, -s*float64(n)/float64(m.N))
		}
		if m.OffsetWanted {
			g.SetVec(columns-1, 1)
		}
		f.SymRankOne(f, 1, g)
	}
	return f
}

// RatioBound returns the smallest relative standard uncertainty of the ratio of
// two phasors from n samples each, in magnitude and, in radians, in phase alike:
//
//	√((2/N)(σ₁²/|V₁|² + σ₂²/|V₂|²))
//
// for independent white noise in the two channels and known frequency; noise
// common to both cancels and is not in it. A window multiplies it by √ENBW. Source:
// the bounds of LargeN by the law of propagation (JCGM 100:2008, clause 5).
func RatioBound(n int, v1, v2 complex128, sigma1, sigma2 float64) float64 {
	a, b := sigma1*sigma1/num.SqAbs(v1), sigma2*sigma2/num.SqAbs(v2)
	return math.Sqrt(2 / float64(n) * (a + b))
}

// QuantisationRMS returns the error of an ideal quantiser of so many bits for
// ±1 full scale: step/√12 with a step of 2^(1−bits). Source: Bennett, Bell Syst.
// Tech. J. 27 (1948) 446.
func QuantisationRMS(bits int) float64 { return math.Ldexp(1, 1-bits) / math.Sqrt(12) }

// QuantisationSNRdB returns the ratio, in decibels of power, of a full-scale sine
// to that error: 20·log10(2^bits·√1.5), about 6.02·bits + 1.76.
func QuantisationSNRdB(bits int) float64 {
	return 20 * (float64(bits)*math.Log10(2) + math.Log10(1.5)/2)
}

// EffectiveBits returns the number of bits of the ideal quantiser that has the
// given ratio of a full-scale sine to noise and distortion, in decibels of power:
// (SINAD − 1.7609…)/6.0206…. For a tone below full scale add what it is below.
// Source: IEEE Std 1057-2017.
func EffectiveBits(sinadDB float64) float64 {
	return (sinadDB/20 - math.Log10(1.5)/2) / math.Log10(2)
}

// BoltzmannJPerK is the Boltzmann constant, exact (SI Brochure, 9th edition).
const BoltzmannJPerK = 1.380649e-23

// ThermalNoise returns the noise voltage of a resistance, in volts per root hertz:
// √(4kTR). Source: Nyquist, Phys. Rev. 32 (1928) 110.
func ThermalNoise(resistanceOhm, temperatureK float64) float64 {
	return math.Sqrt(4 * BoltzmannJPerK * temperatureK * resistanceOhm)
}
