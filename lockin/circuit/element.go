package circuit

import (
	"math"
	"math/cmplx"

	"example.org/wheatear/lockin/parts"
)

// kind is what a letter stands for: its values and its impedance.
type kind struct {
	letter byte
	values []value
}

// value describes one value of an element.
type value struct {
	suffix string     // of the name of the unknown: "", ".n", ".f", ".R"
	unit   parts.Unit // as it is written
	symbol string     // unit for people
	scale  scale
}

// scale says where a value can lie and how the fit moves it.
type scale uint8

const (
	positive scale = iota // any size, moved by ratios
	exponent              // from 0 to 1, moved by steps
)

// kindOf returns what a letter stands for.
func kindOf(letter byte) (*kind, bool) {
	k := kind{letter: letter}
	switch letter {
	case 'R':
		k.values = []value{{unit: parts.Ohm, symbol: "Ω"}}
	case 'C':
		k.values = []value{{unit: parts.Farad, symbol: "F"}}
	case 'L':
		k.values = []value{{unit: parts.Henry, symbol: "H"}}
	case 'Q':
		k.values = []value{{symbol: "F s^(n-1)"}, powerOf}
	case 'W':
		k.values = []value{{symbol: "Ω s^-0.5"}}
	case 'K':
		k.values = []value{{symbol: "Ω s^n"}, powerOf}
	case 'S':
		k.values = []value{{unit: parts.Ohm, symbol: "Ω"}, corner}
	case 'E':
		k.values = []value{{unit: parts.Henry, symbol: "H"}, corner}
	case 'T':
		k.values = []value{{unit: parts.Farad, symbol: "F"}, {suffix: ".R", unit: parts.Ohm, symbol: "Ω"}}
	default:
		return nil, false
	}
	return &k, true
}

// z returns the impedance at w rad/s for the values p, and writes dz/dp into d where
// d is not nil. Direct calls, not a table of functions: p and d stay on the stack.
func (k *kind) z(w float64, p []float64, d []complex128) complex128 {
	switch k.letter {
	case 'R':
		return resistor(w, p, d)
	case 'C':
		return capacitor(w, p, d)
	case 'L':
		return inductor(w, p, d)
	case 'Q':
		return constantPhase(w, p, d)
	case 'W':
		return warburg(w, p, d)
	case 'K':
		return fractional(w, p, d)
	case 'S':
		return roundWire(w, p, d)
	case 'E':
		return eddyCore(w, p, d)
	}
	return openLine(w, p, d)
}

var (
	powerOf = value{suffix: ".n", scale: exponent}
	corner  = value{suffix: ".f", unit: parts.Hertz, symbol: "Hz"}
)

func resistor(_ float64, p []float64, d []complex128) complex128 {
	if d != nil {
		d[0] = 1
	}
	return complex(p[0], 0)
}

func inductor(w float64, p []float64, d []complex128) complex128 {
	if d != nil {
		d[0] = complex(0, w)
	}
	return complex(0, w*p[0])
}

func capacitor(w float64, p []float64, d []complex128) complex128 {
	if w*p[0] == 0 {
		return nothing
	}
	z := complex(0, -1/(w*p[0]))
	if d != nil {
		d[0] = -z / complex(p[0], 0)
	}
	return z
}

// nothing is the impedance of what is not connected.
var nothing = cmplx.Inf()

// constantPhase has the phase −90n degrees at every frequency.
func constantPhase(w float64, p []float64, d []complex128) complex128 {
	y := jPower(w, p[1]) * complex(p[0], 0)
	if y == 0 {
		return nothing
	}
	z := 1 / y
	if d != nil {
		d[0] = -z / complex(p[0], 0)
		d[1] = -z * logJ(w)
	}
	return z
}

// fractional is between a resistance (n = 0) and an inductance (n = 1): a coil with
// eddy currents in solid iron, such as a voice coil.
func fractional(w float64, p []float64, d []complex128) complex128 {
	one := jPower(w, p[1])
	z := complex(p[0], 0) * one
	if d != nil {
		d[0] = one
		d[1] = z * logJ(w)
	}
	return z
}

// jPower returns (jω)^n, exactly on the axis for n = 0 and n = 1.
func jPower(w, n float64) complex128 {
	sin, cos := math.Sincos(n * math.Pi / 2)
	if n == 1 {
		cos = 0
	}
	m := math.Pow(w, n)
	return complex(m*cos, m*sin)
}

// logJ returns ln(jω).
func logJ(w float64) complex128 { return complex(math.Log(w), math.Pi/2) }

func warburg(w float64, p []float64, d []complex128) complex128 {
	if w == 0 {
		return nothing
	}
	one := complex(1, -1) / complex(math.Sqrt(w), 0)
	if d != nil {
		d[0] = one
	}
	return one * complex(p[0], 0)
}
