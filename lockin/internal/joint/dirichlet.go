package joint

import (
	"example.org/wheatear/lockin/internal/num"
	"math"
)

// moments returns, for N samples n = -(N-1)/2 … (N-1)/2 (integer or half-integer
// steps, symmetric about 0) and an angle theta in radians per sample, the sums
//
//	s0 = Σ cos nθ    s1 = Σ n sin nθ    s2 = Σ n² cos nθ
//
// They are the Dirichlet kernel D = sin(Nθ/2)/sin(θ/2) and its derivatives:
// s1 = -D', s2 = -D”. Near θ = 0, where the quotients cancel, the
// leading terms of the power series are used.
func moments(n int, theta float64) (s0, s1, s2 float64) {
	theta = math.Remainder(theta, 2*math.Pi)
	fn := float64(n)
	half := fn / 2
	if math.Abs(half*theta) < 0.02 {
		return momentsNearZero(fn, theta)
	}
	s, c := math.Sincos(theta / 2)
	sm, cm := math.Sincos(half * theta)
	d := sm / s
	d1 := (half*cm - d*c/2) / s
	d2 := (-half*half*sm - d1*c + d*s/4) / s
	return d, -d1, -d2
}

// momentsNearZero uses Σn² = N(N²-1)/12, Σn⁴ = N(N²-1)(3N²-7)/240 and
// Σn⁶ = N(N²-1)(3N⁴-18N²+31)/1344; the first neglected term is below 1e-9 of each
// sum for |Nθ| < 0.04.
func momentsNearZero(fn, theta float64) (s0, s1, s2 float64) {
	p2 := fn * (fn*fn - 1) / 12
	p4 := p2 * (3*fn*fn - 7) / 20
	p6 := p2 * (3*num.Sq(fn*fn) - 18*fn*fn + 31) / 112
	t2 := theta * theta
	s0 = fn - t2/2*p2 + t2*t2/24*p4
	s1 = theta * (p2 - t2/6*p4 + t2*t2/120*p6)
	s2 = p2 - t2/2*p4 + t2*t2/24*p6
	return s0, s1, s2
}
