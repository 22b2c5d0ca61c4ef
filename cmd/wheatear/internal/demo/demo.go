// Package demo is a simulated bench for a first look: a jig with the faults of a
// real one and a tray of parts of which the truth is known.
package demo

import (
	_ "embed"
	"fmt"
	"math"

	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/uncertain"
)

// Jig is the jig file, and Tray what it calls tray.toml.
var (
	//go:embed jig.toml
	Jig []byte
	//go:embed tray.toml
	Tray []byte
)

// What is measured at which frequencies, in the notation of --at.
const (
	At      = "~126,~1k,~10k"
	SweepAt = "20..20k/31"
	Load    = "1k/0.1%"
)

// Part is a part of the tray and where its readings are shown.
type Part struct {
	Name    string
	ShownHz []float64 // about; the nearest tones are meant
	z       func(s complex128) complex128
}

// The frequencies at which parts are shown.
const (
	low  = 126
	mid  = 1000
	high = 10000
)

// Parts lists the tray. The formulas say of each what its circuit in the file
// says, written out by hand.
func Parts() []Part {
	return []Part{
		{"timing-film", []float64{mid}, func(s complex128) complex128 { return 0.08 + s*12e-9 + 1/(s*1.013e-6) }},
		{"supply-electrolytic", []float64{low}, func(s complex128) complex128 { return 0.62 + s*14e-9 + 1/(s*391e-6) }},
		{Coil, []float64{low, mid, high}, func(s complex128) complex128 { return 1 / (1/(33+s*coilHenry) + s*CoilFarad + 1/220e3) }},
		{"valve-snubber", []float64{mid}, func(s complex128) complex128 { return 102 + 1/(s*97.3e-9) }},
		{"pull-up", []float64{mid}, func(s complex128) complex128 { return 1 / (1/10.07e3 + s*0.3e-12) }},
		{"sense-shunt", []float64{mid}, func(s complex128) complex128 { return 0.4712 + s*18e-9 }},
		{"clock-capacitor", []float64{high}, func(s complex128) complex128 { return 1 / (1/2e9 + s*21.7e-12) }},
		{"rain-contact", []float64{mid}, func(s complex128) complex128 { return 38e-3 + s*25e-9 }},
		{"soil-probe", []float64{low, high}, func(s complex128) complex128 { return 1 / (1/2.31e3 + 1/(240+1/(s*68e-9))) }},
	}
}

// Coil is the part whose reading misleads at the highest frequency, and CoilFarad
// the reason.
const (
	Coil      = "valve-coil"
	CoilFarad = 1.1e-9
	coilHenry = 92e-3
)

// CoilResonanceHz is where the coil resonates with its own capacitance:
// 1/(2π√(LC)), without losses.
func CoilResonanceHz() float64 { return 1 / (2 * math.Pi * math.Sqrt(coilHenry*CoilFarad)) }

// Truth is what a part is at a frequency: an impedance in ohm.
func (p Part) Truth(freqHz float64) complex128 { return p.z(complex(0, 2*math.Pi*freqHz)) }

// Exact is the reading that an ideal jig would give of an impedance.
func Exact(z complex128, freqHz float64) impedance.Reading {
	q := func(v float64) uncertain.Quantity { return uncertain.Quantity{Value: v, Low: v, High: v} }
	w, y := 2*math.Pi*freqHz, 1/z
	r := impedance.Void(q(freqHz))
	r.State, r.Re, r.Im = impedance.OK, q(real(z)), q(imag(z))
	r.Series.R, r.Parallel.R = q(real(z)), q(1/real(y))
	if imag(z) < 0 {
		r.Series.C, r.Parallel.C = q(-1/(w*imag(z))), q(imag(y)/w)
	} else {
		r.Series.L, r.Parallel.L = q(imag(z)/w), q(-1/(w*imag(y)))
	}
	r.Dominance = impedance.Dominance{Kind: impedance.KindOf(z), Likeliest: impedance.KindOf(z), Confidence: 1}
	return r
}

// Commands are the lines that repeat the demo by hand, in its folder.
func Commands() string {
	return fmt.Sprintf(`# The same by hand, in this folder. (From a clone without wheatear installed:
# go build -o wheatear ./cmd/wheatear, and put it where the shell finds it.)

# What goes where, and what to take care of:
wheatear help wiring

# Calibrate and measure on the simulated jig:
wheatear calibrate --jig jig.toml --at %[1]s --load %[2]s --out again.json
wheatear measure --jig jig.toml --calibration again.json --at %[3]s --part %[4]s
wheatear measure --jig jig.toml --calibration again.json --at ~1k --part timing-film --budget
wheatear sweep --jig jig.toml --calibration again.json --at %[1]s --together --part %[4]s --plot again.svg

# The same from the recordings, which hold what the two inputs heard:
wheatear demodulate --recording recordings/part-%[4]s-1.wav
wheatear measure --jig jig.toml --calibration cal.json --at all --recording recordings/part-%[4]s-1.wav
`, SweepAt, Load, At, Coil)
}
