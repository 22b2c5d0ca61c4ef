package virtual

import "math"

// A played signal is known by its samples; between them it is what a perfect
// converter makes of them. Here that is a sum of windowed sinc functions,
//
//	u(n+τ) = Σ_k u[n+k] w(τ-k),  w(s) = sin(πs)/(πs) · I0(β√(1-(s/H)²))/I0(β),
//
// written in each interval as a sum of Legendre polynomials of 2τ-1. The window
// is that of J. F. Kaiser, "Nonrecursive digital filter design using the
// I0-sinh window function", Proc. IEEE ISCAS, 1974. By his estimate
//
//	A = 2.285 Δω (2H-1) + 8 dB with Δω = 2π·0.2
//
// is the attenuation with a transition from 0.4 to 0.6 of the rate: 195 dB for
// H = 33. So much is needed because a small capacitor passes what is left of the
// images of a low tone, near the rate, a thousand times better than the tone.
const (
	half   = 33       // H: samples on each side of an interval; a multiple of 3
	window = 2 * half // samples that an interval depends on
	beta   = 20.5     // 0.1102 (A - 8.7), Kaiser's rule
	basis  = 14       // polynomials per interval, even; they leave 1e-10 of a tone at 0.4 of the rate
)

// coeffs are the coefficients of an interval's Legendre polynomials.
type coeffs [basis]float64

// kernel is the reconstruction: constant once made, shared by all that needs it.
type kernel struct {
	// fold[j][i] is the weight in coefficient j of the sum (j even) or the
	// difference (j odd) of the samples half+i and half-1-i of the window.
	fold [basis][half]float64
}

// shape is w(s).
func shape(s float64) float64 { return sinc(s) * shaped(s) }

// shaped is the window.
func shaped(s float64) float64 {
	x := s / half
	if math.Abs(x) >= 1 {
		return 0
	}
	return bessel0(beta*math.Sqrt(1-x*x)) / bessel0(beta)
}

func sinc(s float64) float64 {
	if s == 0 {
		return 1
	}
	return math.Sin(math.Pi*s) / (math.Pi * s)
}

// bessel0 is the modified Bessel function of order 0, from its power series.
func bessel0(x float64) float64 {
	sum, term := 1.0, 1.0
	for k := 1.0; term > 1e-17*sum; k++ {
		term *= x * x / (4 * k * k)
		sum += term
	}
	return sum
}

// legendre fills p with P_0(x) … P_{len(p)-1}(x).
func legendre(p []float64, x float64) {
	p[0], p[1] = 1, x
	for j := 2; j < len(p); j++ {
		p[j] = recurrence[j][0]*x*p[j-1] - recurrence[j][1]*p[j-2]
	}
}

// recurrence holds (2j-1)/j and (j-1)/j: a division takes longer than all else.
var recurrence = func() (r [gaussPoints + 1][2]float64) {
	for j := 1; j < len(r); j++ {
		k := float64(j)
		r[j] = [2]float64{(2*k - 1) / k, (k - 1) / k}
	}
	return r
}()

// newKernel projects w on the polynomials: weight j of sample k is
// (2j+1)/2 ∫ w((x+1)/2 - k) P_j(x) dx over -1 … 1.
func newKernel() *kernel {
	k := &kernel{}
	var p [basis]float64
	for q, x := range gaussNodes {
		legendre(p[:], x)
		for i := range half {
			w := shape((x+1)/2 - float64(i) - 1)
			for j := range k.fold {
				k.fold[j][i] += gaussWeights[q] * (float64(j) + 0.5) * w * p[j]
			}
		}
	}
	return k
}

// interval returns the coefficients of the interval between samples half-1 and
// half of a window.
func (k *kernel) interval(c *coeffs, w *[window]float64) {
	var sum, diff [half]float64
	for i := range half {
		a, b := w[half+i], w[half-1-i]
		sum[i], diff[i] = a+b, a-b
	}
	for j := 0; j < basis; j += 2 {
		c[j] = dot(&k.fold[j], &sum)
		c[j+1] = dot(&k.fold[j+1], &diff)
	}
}

// dot uses several sums, so that one addition need not wait for another.
func dot(a, b *[half]float64) float64 {
	var s0, s1, s2 float64
	for i := 0; i < half; i += 3 {
		s0 += a[i] * b[i]
		s1 += a[i+1] * b[i+1]
		s2 += a[i+2] * b[i+2]
	}
	return s0 + s1 + s2
}

// at evaluates the polynomials at x = 2τ-1.
func (c *coeffs) at(x float64) float64 {
	var p [basis]float64
	legendre(p[:], x)
	sum := 0.0
	for j, v := range p {
		sum += c[j] * v
	}
	return sum
}

// weights are those of the samples of a window in the value at x = 2τ-1.
func (k *kernel) weights(x float64) *[window]float64 {
	var unit, w [window]float64
	for i := range unit {
		var c coeffs
		unit[i] = 1
		k.interval(&c, &unit)
		unit[i] = 0
		w[i] = c.at(x)
	}
	return &w
}
