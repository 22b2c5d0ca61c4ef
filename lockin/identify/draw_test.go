package identify

import (
	"math"
	"math/cmplx"
	"math/rand/v2"

	"gonum.org/v1/gonum/mat"

	"example.org/wheatear/lockin/circuit"
)

// drawn is a part with a value that is known.
type drawn struct {
	family Family
	value  float64
	z      func(w float64) complex128 // of the angular frequency
}

// draw makes parts of a family. Their impedances are written out here, from the
// physics of the part, not with the elements of package circuit; ranges are what the
// trade sells (common practice, no source).
var draw = map[Family]func(r *rand.Rand) drawn{
	Resistor: func(r *rand.Rand) drawn {
		ohm, h, f := decades(r, 1, 1e6), decades(r, 2e-9, 50e-9), decades(r, 0.1e-12, 0.6e-12)
		return drawn{Resistor, ohm, func(w float64) complex128 { return across(complex(ohm, w*h), capacitor(f, w)) }}
	},
	LowLoss: func(r *rand.Rand) drawn {
		farad, loss, ohm := decades(r, 1e-9, 5e-6), decades(r, 1e-4, 3e-3), decades(r, 0.003, 0.03)
		return drawn{LowLoss, farad, func(w float64) complex128 { return complex(ohm, 12e-9*w) + dielectric(farad, loss, w) }}
	},
	Class2: func(r *rand.Rand) drawn {
		farad, loss, ohm := decades(r, 1e-9, 10e-6), decades(r, 0.01, 0.03), decades(r, 0.003, 0.02)
		return drawn{Class2, farad, func(w float64) complex128 { return complex(ohm, 1e-9*w) + dielectric(farad, loss, w) }}
	},
	Electrolytic: func(r *rand.Rand) drawn {
		farad := decades(r, 1e-6, 4.7e-3)
		ohm := decades(r, 0.5, 2) * math.Pow(100e-6/farad, 0.7) * 0.2
		pores := decades(r, 0.2, 1) * ohm
		return drawn{Electrolytic, farad, func(w float64) complex128 {
			return complex(ohm, 15e-9*w) + pore(farad, pores, w)
		}}
	},
	Leaky: func(r *rand.Rand) drawn {
		farad, loss := decades(r, 10e-9, 10e-6), decades(r, 5e-4, 3e-3)
		ohm := 1 / (2 * math.Pi * 20 * farad * decades(r, 0.06, 2)) // loss at 20 Hz
		return drawn{Leaky, farad, func(w float64) complex128 { return across(complex(ohm, 0), dielectric(farad, loss, w)) }}
	},
	AirCoil: func(r *rand.Rand) drawn {
		henry := decades(r, 50e-6, 10e-3)
		ohm, farad := 2*math.Pi*decades(r, 200, 2000)*henry, decades(r, 5e-12, 100e-12)
		return drawn{AirCoil, henry, func(w float64) complex128 { return across(complex(ohm, w*henry), capacitor(farad, w)) }}
	},
	CoreCoil: func(r *rand.Rand) drawn {
		henry := decades(r, 1e-3, 2)
		ohm, farad := 2*math.Pi*decades(r, 5, 50)*henry, decades(r, 10e-12, 100e-12)
		sheet := decades(r, 2e3, 100e3) // where eddy currents begin to fill the sheets
		return drawn{CoreCoil, henry, func(w float64) complex128 {
			s := complex(1, 1) * complex(math.Sqrt(w/2/math.Pi/sheet), 0)
			return across(complex(ohm, 0)+complex(0, w*henry)*cmplx.Tanh(s)/s, capacitor(farad, w))
		}}
	},
	Transformer: func(r *rand.Rand) drawn {
		henry := decades(r, 0.02, 1)
		leak, load := henry*decades(r, 0.003, 0.03), 2*math.Pi*decades(r, 200, 1500)*henry
		ohm := 2 * math.Pi * decades(r, 3, 15) * henry
		return drawn{Transformer, henry, func(w float64) complex128 {
			return complex(ohm, w*leak) + across(complex(load, 0), complex(0, w*henry))
		}}
	},
	Resonator: func(r *rand.Rand) drawn {
		hz, q, farad := decades(r, 200, 8e3), decades(r, 20, 300), decades(r, 5e-9, 500e-9)
		w0 := 2 * math.Pi * hz
		henry := 1 / (w0 * w0 * farad)
		ohm := w0 * henry / q
		return drawn{Resonator, hz, func(w float64) complex128 { return across(complex(ohm, w*henry), capacitor(farad, w)) }}
	},
	Loudspeaker: func(r *rand.Rand) drawn {
		re, hz, q := decades(r, 3, 30), decades(r, 40, 900), decades(r, 1.5, 8)
		res := re * decades(r, 0.5, 8)
		le, n := 2*math.Pi*re/decades(r, 2e3, 2e4)*1.0, 0.6+0.3*r.Float64()
		return drawn{Loudspeaker, re, func(w float64) complex128 {
			x := complex(0, q*(w/(2*math.Pi*hz)-2*math.Pi*hz/w))
			return complex(re, 0) + complex(res, 0)/(1+x) + complex(re/30*le, 0)*cmplx.Pow(complex(0, w/300), complex(n, 0))
		}}
	},
}

// families in a fixed order.
var families = []Family{Resistor, LowLoss, Class2, Electrolytic, Leaky, AirCoil, CoreCoil, Transformer, Resonator, Loudspeaker}

func decades(r *rand.Rand, low, high float64) float64 {
	return low * math.Pow(high/low, r.Float64())
}

func across(a, b complex128) complex128 { return a * b / (a + b) }

func capacitor(farad, w float64) complex128 { return complex(0, -1/(w*farad)) }

// dielectric has the same loss everywhere: the capacitance falls with the power of
// frequency that the Kramers–Kronig relations ask for, and is farad at 1 kHz.
func dielectric(farad, loss, w float64) complex128 {
	n := 1 - 2/math.Pi*math.Atan(loss)
	y := complex(0, 1) * complex(farad*w, 0) * cmplx.Pow(complex(0, w/(2*math.Pi*1e3)), complex(n-1, 0))
	return 1 / y
}

// pore is a capacitance that is reached through the resistance along it.
func pore(farad, ohm, w float64) complex128 {
	s := cmplx.Sqrt(complex(0, w*farad*ohm))
	return complex(ohm, 0) / (s * cmplx.Tanh(s))
}

// read makes a sweep of 31 points: noise of each point of its own, and errors that
// all points share, in size and in a stray resistance in series.
func read(p drawn, r *rand.Rand) *circuit.Data {
	const n, noise, shared, stray = 31, 1e-3, 1e-3, 1e-3
	d := &circuit.Data{}
	cov := mat.NewSymDense(2*n, nil)
	all, ohm := shared*r.NormFloat64(), stray*r.NormFloat64()
	var size, series []float64
	for i := range n {
		f := 20 * math.Pow(1e3, float64(i)/(n-1))
		z := p.z(2 * math.Pi * f)
		a := cmplx.Abs(z)
		d.FreqHz = append(d.FreqHz, f)
		d.Z = append(d.Z, z*complex(1+all, 0)+complex(ohm+noise*a*r.NormFloat64(), noise*a*r.NormFloat64()))
		size, series = append(size, shared*real(z), shared*imag(z)), append(series, stray, 0)
		cov.SetSym(2*i, 2*i, noise*noise*a*a)
		cov.SetSym(2*i+1, 2*i+1, noise*noise*a*a)
	}
	for i := range size {
		for j := i; j < len(size); j++ {
			cov.SetSym(i, j, cov.At(i, j)+size[i]*size[j]+series[i]*series[j])
		}
	}
	d.Full = cov
	return d
}
