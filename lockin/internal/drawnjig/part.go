package drawnjig

import (
	"fmt"
	"math"
	"math/rand/v2"
)

// Kind is what a part is sold as.
type Kind int

// The kinds of part.
const (
	Resistor Kind = iota
	Capacitor
	Coil
)

func (k Kind) String() string { return [...]string{"resistor", "capacitor", "coil"}[k] }

// Part is a part with its losses. Absent elements are 0.
//
//	resistor    (Ohm + Henry) // Farad
//	capacitor   (Farad // ParallelOhm) + Ohm + Henry
//	coil        (Henry // ParallelOhm) + Ohm, Farad across all of it
type Part struct {
	Kind                           Kind
	Ohm, Henry, Farad, ParallelOhm float64
}

// Siemens is the admittance of the part at a frequency.
func (p Part) Siemens(freqHz float64) complex128 {
	w := 2 * math.Pi * freqHz
	leak := complex128(0)
	if p.ParallelOhm > 0 {
		leak = complex(1/p.ParallelOhm, 0)
	}
	switch p.Kind {
	case Capacitor:
		y := complex(0, w*p.Farad) + leak
		return y / (1 + y*complex(p.Ohm, w*p.Henry))
	case Coil:
		z := complex(0, w*p.Henry)
		return 1/(z/(1+z*leak)+complex(p.Ohm, 0)) + complex(0, w*p.Farad)
	}
	return 1/complex(p.Ohm, w*p.Henry) + complex(0, w*p.Farad)
}

// Z is the impedance of the part at a frequency, in ohm.
func (p Part) Z(freqHz float64) complex128 { return 1 / p.Siemens(freqHz) }

func (p Part) String() string {
	return fmt.Sprintf("%v of %.5g Ω, %.5g F, %.5g H, %.3g Ω across", p.Kind, p.Ohm, p.Farad, p.Henry, p.ParallelOhm)
}

// DrawPart draws a part of about sizeOhm at a frequency: losses from D = 1e-5 to 0.5 in
// capacitors (half of them below 1e-2, in series or across), Q from 2 to 200 in coils,
// and resistors whose strays make a phase from 1e-6 to 0.1 rad.
func DrawPart(rng *rand.Rand, kind Kind, sizeOhm, freqHz float64) Part {
	w := 2 * math.Pi * freqHz
	switch kind {
	case Capacitor:
		p, d := Part{Kind: kind, Farad: 1 / (w * sizeOhm)}, Between(rng, 1e-5, 0.5)
		if rng.IntN(2) == 0 {
			d = Between(rng, 1e-5, 1e-2)
		}
		if rng.IntN(2) == 0 {
			p.Ohm = d * sizeOhm
		} else {
			p.ParallelOhm = sizeOhm / d
		}
		return p
	case Coil:
		p, q := Part{Kind: kind, Henry: sizeOhm / w}, Between(rng, 2, 200)
		p.Ohm = sizeOhm / q
		if rng.IntN(2) == 0 {
			p.ParallelOhm = sizeOhm * q * Between(rng, 1, 10)
		}
		return p
	}
	p, phase := Part{Kind: Resistor, Ohm: sizeOhm}, Between(rng, 1e-6, 0.1)
	if sizeOhm < 1e3 {
		p.Henry = phase * sizeOhm / w
	} else {
		p.Farad = phase / (w * sizeOhm)
	}
	return p
}
