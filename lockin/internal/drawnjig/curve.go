package drawnjig

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
)

// Curve is what an input makes of a signal, both in units of full scale, with a slope of
// 1 at zero.
type Curve func(v float64) float64

// Bends are the kinds of curve that BentTo knows.
var Bends = []string{"tanh", "power", "diodes", "one diode", "knee", "arctan", "root", "expanding"}

// bent is a curve of some kind with a strength between 0 and 1; large at signals of a.
func bent(kind string, a, strength float64, rng func() float64) Curve {
	switch kind {
	case "tanh":
		k := 3 * strength / a
		return func(v float64) float64 { return math.Tanh(k*v) / k }
	case "arctan":
		k := 3 * strength / a
		return func(v float64) float64 { return math.Atan(k*v) / k }
	case "root":
		k := 3 * strength / a
		return func(v float64) float64 { return v / math.Sqrt(1+k*k*v*v) }
	case "power": // squares, cubes and fifth powers of any sign
		s := strength * strength
		b2, b3, b5 := (2*rng()-1)*s/a, (2*rng()-1)*s/(a*a), (2*rng()-1)*s/(a*a*a*a)
		return func(v float64) float64 { return v + b2*v*v + b3*v*v*v + b5*v*v*v*v*v }
	case "expanding":
		k := 2 * strength / a
		return func(v float64) float64 { return math.Sinh(k*v) / k }
	case "knee": // a third of the slope is left beyond it
		at := a * (1 - strength)
		return func(v float64) float64 {
			if math.Abs(v) <= at {
				return v
			}
			return math.Copysign(at+(math.Abs(v)-at)*0.3, v)
		}
	case "diodes", "one diode":
		// Diodes at the node behind a series resistor, to both sides or to one:
		// v = y + s·(exp(y/n) - exp(-y/n))/2 and the like, solved by Newton's method.
		n := a / (8 + 30*rng())
		s := n * math.Exp(-a/n) * 10 * strength
		current := func(y float64) (i, slope float64) { return s * math.Sinh(y/n), s / n * math.Cosh(y/n) }
		if kind == "one diode" {
			current = func(y float64) (i, slope float64) { e := math.Exp(y / n); return s * (e - 1), s / n * e }
		}
		_, g := current(0)
		return func(v float64) float64 {
			y := math.Max(-a, math.Min(a, v))
			for range 60 {
				i, slope := current(y)
				step := (y + i - v) / (1 + slope)
				y -= math.Max(-n, math.Min(n, step))
				if math.Abs(step) < 1e-15 {
					break
				}
			}
			return y * (1 + g)
		}
	}
	panic("drawnjig: no curve of kind " + kind)
}

// BentTo is a curve of some kind that makes a third harmonic of that size, relative to a
// tone of amplitude a. A curve that cannot makes as much as it can.
func BentTo(rng *rand.Rand, kind string, third, a float64) Curve {
	seed := [2]uint64{rng.Uint64(), rng.Uint64()}
	at := func(strength float64) Curve {
		drawn := rand.New(rand.NewPCG(seed[0], seed[1]))
		return bent(kind, a, strength, drawn.Float64)
	}
	low, high := 1e-6, 1.0
	for range 60 {
		mid := math.Sqrt(low * high)
		h := Heard(at(mid), []complex128{complex(a, 0)}, 3)
		if cmplx.Abs(h[2]/h[0]) < third {
			low = mid
		} else {
			high = mid
		}
	}
	return at(low)
}

// Heard are the phasors of a tone and its overtones up to some order behind a curve: one
// period of samples through it, and its Fourier sums by definition.
func Heard(c Curve, overtones []complex128, order int) []complex128 {
	const n = 512
	var turns [n]complex128
	for i := range turns {
		turns[i] = cmplx.Rect(1, 2*math.Pi*float64(i)/n)
	}
	out := make([]complex128, order)
	for i := range n {
		v := 0.0
		for k, o := range overtones {
			v += real(o * turns[(k+1)*i%n])
		}
		if c != nil {
			v = c(v)
		}
		for k := range out {
			out[k] += complex(v*2/n, 0) * cmplx.Conj(turns[(k+1)*i%n])
		}
	}
	return out
}

// overtones are those that the inputs hear of one tone of the source, and of its
// overtones, behind the curves of the inputs.
func (j *Jig) overtones(freqHz float64, siemens func(freqHz float64) complex128, in Insertion) [2][]complex128 {
	const order = 9
	var straight, out [2][]complex128
	for k := 1; k <= order; k++ {
		amplitude := complex(j.Noise.Peak, 0)
		if k > 1 && k-2 < len(j.Overtones) {
			amplitude *= j.Overtones[k-2]
		} else if k > 1 {
			amplitude = 0
		}
		v := j.Transfer(float64(k)*freqHz, siemens(float64(k)*freqHz), in)
		for i := range v {
			straight[i] = append(straight[i], v[i]*amplitude)
		}
	}
	for i := range out {
		out[i] = Heard(j.Curves[i], straight[i], order)
	}
	return out
}
