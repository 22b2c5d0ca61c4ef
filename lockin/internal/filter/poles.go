// Package filter holds the filters behind a synchronous detector: equal poles,
// advanced by blocks; a linear-phase filter in two stages; averages over whole
// cycles. What multiplies the samples by exp(−jωt) is part of them where that is
// cheaper.
package filter

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/combin"
)

// MostPoles bounds the sections in a row.
const MostPoles = 8

// Poles are N equal low-pass sections in a row, s = a·s + (1−a)·x each, with
// a = exp(−1/frames).
type Poles struct {
	N      int
	a      float64
	gain   float64 // 1 − a, without rounding
	frames float64 // time constant of a section
}

// NewPoles returns n sections, 1 to [MostPoles], with a time constant in frames.
func NewPoles(n int, frames float64) Poles {
	a := math.Exp(-1 / frames)
	if a == 0 {
		return Poles{N: n, gain: 1, frames: frames}
	}
	return Poles{N: n, a: a, gain: 1 - a, frames: -1 / math.Log(a)}
}

// decay returns a^age.
func (p Poles) decay(age int) float64 {
	if age == 0 {
		return 1
	}
	return math.Exp(-float64(age) / p.frames)
}

// transfer is what n frames of silence do to the sections: the section d places
// before one puts transfer[d] of its state into it.
type transfer [MostPoles]float64

// over returns gain^d·C(n+d−1, d)·aⁿ for each d: the state decays as aⁿ and drives
// those behind it on the way.
func (p Poles) over(n int) transfer {
	var t transfer
	v := p.decay(n)
	for d := range p.N {
		t[d] = v
		v *= p.gain * float64(n+d) / float64(d+1)
	}
	return t
}

// ENBW returns the one-sided equivalent noise bandwidth in units of the rate,
//
//	½·Σh² = ½·(1−a)^2n·(1−a²)^(1−2n)·Σ_j C(n−1,j)²·a^2j
//
// (₂F₁(n,n;1;a²) by Euler's transformation). It departs from that in continuous
// time, Γ(n−½)/(4√π Γ(n) τ), by a share of the order of n/(τ·rate)².
func (p Poles) ENBW() float64 {
	sum := 0.0
	for j := range p.N {
		c := float64(combin.Binomial(p.N-1, j))
		sum += c * c * math.Pow(p.a, float64(2*j))
	}
	rest := p.gain * (1 + p.a) // 1 − a²
	return math.Pow(p.gain/rest, float64(2*p.N)) * rest * sum / 2
}

// At returns the response at a frequency in turns per frame, the newest sample at
// age 0.
func (p Poles) At(turns float64) complex128 {
	s, c := math.Sincos(2 * math.Pi * turns)
	section := complex(p.gain, 0) / complex(1-p.a*c, p.a*s)
	out := complex128(1)
	for range p.N {
		out *= section
	}
	return out
}

// Cutoff returns where the response is 3.01 dB down, in turns per frame; ½ where it
// nowhere is. |1 − a·exp(−jω)|² = gain²·2^(1/n) solved for ω.
func (p Poles) Cutoff() float64 {
	// gain²(2^(1/n) − 1) = 4a·sin²(ω/2)
	half := p.gain * math.Sqrt(math.Expm1(math.Ln2/float64(p.N))/(4*p.a))
	if !(half < 1) {
		return 0.5
	}
	return math.Asin(half) / math.Pi
}

// Delay returns the group delay at zero frequency, in frames.
func (p Poles) Delay() float64 { return float64(p.N) * p.a / p.gain }

// Settling returns the frames after a step until no more than a share eps of it is
// left: the solution of P(n, t/τ) = 1 − eps with the regularised gamma function, and
// a frame for each section as it runs on samples.
func (p Poles) Settling(eps float64) float64 {
	return p.frames*mathext.GammaIncRegCompInv(float64(p.N), eps) + float64(p.N)
}

// AliasDB returns the largest response that folds, at one output every so many
// frames, onto offsets up to the cutoff. The response falls all the way to half the
// rate, so it is that at one output rate less the cutoff.
func (p Poles) AliasDB(every int) float64 {
	if every == 1 {
		return math.Inf(-1)
	}
	at := math.Min(0.5, math.Max(1/float64(every)-p.Cutoff(), 0))
	return 20 * math.Log10(cmplx.Abs(p.At(at)))
}

// Every returns the longest output interval at which AliasDB is no more than limitDB.
func (p Poles) Every(limitDB float64) int {
	low, high := 1, 2 // AliasDB(low) is within the limit
	for high < 1<<40 && p.AliasDB(high) <= limitDB {
		low, high = high, 2*high
	}
	for high-low > 1 {
		if middle := low + (high-low)/2; p.AliasDB(middle) <= limitDB {
			low = middle
		} else {
			high = middle
		}
	}
	return low
}

// ENBWBehind returns the bandwidth of the poles behind an average over n frames, from
// their answer to one impulse; where that is long, from a scaled-down model, which
// departs from it by the order of its frames' inverse.
func (p Poles) ENBWBehind(n int) float64 {
	const most = 1 << 20
	length := float64(n) + p.Settling(1e-9)
	scale := math.Max(1, length/most)
	m := int(math.Round(float64(n) / scale))
	if m < 1 {
		return p.ENBW()
	}
	q := NewPoles(p.N, p.frames/scale)
	mean := slidingMean{ring: make([]complex128, m)}
	var state [MostPoles]float64
	sum := 0.0
	in := complex128(1)
	for range int(length/scale) + 1 {
		v := real(mean.step(in))
		for i := range q.N {
			state[i] += q.gain * (v - state[i])
			v = state[i]
		}
		sum += v * v
		in = 0
	}
	return sum / 2 / scale
}
