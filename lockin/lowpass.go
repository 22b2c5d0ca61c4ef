package lockin

import (
	"math"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/combin"
)

// LowPass describes equal one-pole sections in a row, the filter of a synchronous
// detector: 6 dB per octave each.
type LowPass struct {
	TimeConstantS float64 // of each section
	Poles         int     // 1 to 8
}

// ENBWHz returns the one-sided equivalent noise bandwidth of the filter in
// continuous time,
//
//	Γ(n−½) / (4√π Γ(n) τ)
//
// with n poles and time constant τ. Source: elementary, ∫|1+j2πfτ|^(−2n) df.
func (l LowPass) ENBWHz() float64 {
	n := float64(l.Poles)
	high, _ := math.Lgamma(n - 0.5)
	low, _ := math.Lgamma(n)
	return math.Exp(high-low) / (4 * math.Sqrt(math.Pi) * l.TimeConstantS)
}

// SampledENBWHz returns the same for the filter as it runs on samples, whose
// sections are s += (1−a)(x−s) with a = exp(−1/(τ·rate)):
//
//	½·rate·Σh² = ½·rate·(1−a)^2n·(1−a²)^(1−2n)·Σ_j C(n−1,j)²·a^2j
//
// (₂F₁(n,n;1;a²) by Euler's transformation). It departs from ENBWHz by a share of
// −1/(12(τ·rate)²) for one pole and by the order of n/(τ·rate)² for more: nothing
// that matters from ten samples per time constant on.
func (l LowPass) SampledENBWHz(rateHz float64) float64 {
	n := l.Poles
	a, gain := l.coefficients(rateHz)
	sum := 0.0
	for j := range n {
		c := float64(combin.Binomial(n-1, j))
		sum += c * c * math.Pow(a, float64(2*j))
	}
	rest := gain * (1 + a) // 1 − a²
	return rateHz / 2 * math.Pow(gain, float64(2*n)) * math.Pow(rest, float64(1-2*n)) * sum
}

// CutoffHz returns the frequency at which the filter is 3.01 dB down (to half the
// power): √(2^(1/n) − 1)/(2πτ).
func (l LowPass) CutoffHz() float64 {
	return math.Sqrt(math.Expm1(math.Ln2/float64(l.Poles))) / (2 * math.Pi * l.TimeConstantS)
}

// StepResponse returns how far the output has come a time t after the input
// stepped from 0 to 1: the regularised gamma function P(n, t/τ); 0 before.
func (l LowPass) StepResponse(tS float64) float64 {
	if !(tS > 0) {
		return 0
	}
	return mathext.GammaIncReg(float64(l.Poles), tS/l.TimeConstantS)
}

// SettlingS returns the time after a step until a share eps of it is left, for
// eps between 0 and 1: the solution of P(n, t/τ) = 1 − eps. The filter on samples
// settles within one sample of it per pole.
func (l LowPass) SettlingS(eps float64) float64 {
	return l.TimeConstantS * mathext.GammaIncRegCompInv(float64(l.Poles), eps)
}

// coefficients returns a = exp(−1/(τ·rate)) and 1 − a without cancellation.
func (l LowPass) coefficients(rateHz float64) (a, gain float64) {
	d := -1 / (l.TimeConstantS * rateHz)
	return math.Exp(d), -math.Expm1(d)
}

// sections is the state of a low-pass for one complex signal.
type sections struct {
	gain  float64
	state []complex128
}

func (s *sections) step(v complex128) complex128 {
	re, im := real(v), imag(v)
	for i, y := range s.state {
		re = real(y) + s.gain*(re-real(y))
		im = imag(y) + s.gain*(im-imag(y))
		s.state[i] = complex(re, im)
	}
	return complex(re, im)
}

// slidingMean averages the last n values. A running sum would gather rounding
// for ever; here every sum is of at most n values: what is left of the previous
// n, summed from the end once, and the new ones.
type slidingMean struct {
	ring   []complex128 // [at:] sums from i to the end of the previous n; [:at] new values
	at     int
	newest complex128 // sum of ring[:at]
}

func (m *slidingMean) step(v complex128) complex128 {
	m.ring[m.at] = v
	m.newest += v
	m.at++
	sum := m.newest
	if m.at < len(m.ring) {
		sum += m.ring[m.at]
	} else {
		m.turn()
	}
	return sum * complex(1/float64(len(m.ring)), 0)
}

// turn replaces the values by their sums from each to the last.
func (m *slidingMean) turn() {
	sum := complex128(0)
	for i := len(m.ring) - 1; i >= 0; i-- {
		sum += m.ring[i]
		m.ring[i] = sum
	}
	m.at, m.newest = 0, 0
}
