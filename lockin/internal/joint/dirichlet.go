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

// turnedMoments returns the sums over the same n, less those of the skip in the middle,
// with σ = +1 for n < 0 and −1 for n > 0:
//
//	t0 = Σ σ sin nθ    t1 = Σ σ n cos nθ    t2 = Σ σ n² sin nθ    t3 = Σ σ n³ cos nθ
//
// t0 = −(cos(Kθ/2) − cos(Nθ/2))/sin(θ/2) for N frames of which K are skipped, and the
// others are its derivatives, t2 and t3 with the other sign. With K = 0 an even N is meant; of an odd one, 1/N is off.
func turnedMoments(n, skip int, theta float64) (t0, t1, t2, t3 float64) {
	theta = math.Remainder(theta, 2*math.Pi)
	a, b := float64(skip)/2, float64(n)/2
	if math.Abs(b*theta) < 0.02 {
		return turnedNearZero(a, b, theta)
	}
	s, c := math.Sincos(theta / 2)
	sa, ca := math.Sincos(a * theta)
	sb, cb := math.Sincos(b * theta)
	d := (cb - ca) / s
	d1 := (a*sa - b*sb - d*c/2) / s
	d2 := (a*a*ca - b*b*cb - d1*c + d*s/4) / s
	d3 := (b*b*b*sb - a*a*a*sa - 1.5*d2*c + 0.75*d1*s + d*c/8) / s
	return d, d1, -d2, -d3
}

// turnedNearZero expands cos(bθ) − cos(aθ) to the sixth power, and 1/sin(θ/2) =
// (2/θ)(1 + θ²/24).
func turnedNearZero(a, b, theta float64) (t0, t1, t2, t3 float64) {
	a2, b2 := a*a, b*b
	c2, c4, c6 := (a2-b2)/2, (b2*b2-a2*a2)/24, (a2*a2*a2-b2*b2*b2)/720
	// t0 = 2(c2 θ + (c4 + c2/24) θ³ + (c6 + c4/24) θ⁵)
	k3, k5, t := c4+c2/24, c6+c4/24, theta*theta
	return 2 * theta * (c2 + t*(k3+t*k5)), 2 * (c2 + t*(3*k3+5*t*k5)), -2 * theta * (6*k3 + 20*t*k5), -2 * (6*k3 + 60*t*k5)
}

// powers returns Σ 1, Σ n² and Σ n⁴ over the frames that are not skipped.
func (m *Model) powers(frames int) (p0, p2, p4 float64) {
	of := func(n float64) (p2, p4 float64) {
		p2 = n * (n*n - 1) / 12
		return p2, p2 * (3*n*n - 7) / 20
	}
	p2, p4 = of(float64(frames))
	s2, s4 := of(float64(m.Skip))
	return float64(frames - m.Skip), p2 - s2, p4 - s4
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
