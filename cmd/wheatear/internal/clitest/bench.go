// Package clitest helps to test the command: it makes recordings of a jig from
// formulas of its own, and checks JSON against the schemas.
package clitest

import (
	"flag"
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"

	"example.org/wheatear/audio"
	"example.org/wheatear/audio/wave"
)

// Bench is a jig made for tests: a source behind 33 ohm, a reference, the part,
// and what real jigs have besides. The channels carry the voltage across both
// and that across the part. The formulas are those of a voltage divider, written
// down here once more so that a mistake in the program cannot hide.
type Bench struct {
	Ohm     float64 // reference
	Ideal   bool    // no leads, no strays, equal inputs
	RateHz  float64
	Seconds float64
	Noise   float64 // rms re full scale
	Seed    uint64
	Spoil   string // what is wrong with the recording
}

// Default is a jig with a reference of 1 kohm at 48 kHz.
func Default() Bench {
	return Bench{Ohm: 1000, RateHz: 48000, Seconds: 1, Noise: 1e-5, Seed: 1}
}

// Jig is its jig file, as a person would describe it.
const Jig = `name = "test jig"
channels = ["total", "part"]
reference = "1k"
reference_tolerance = "0.1%"
full_scale = "1.2V"
mains = 50
`

// element returns the impedance of what a test connects: open, short, or a value
// with its letter, such as R470, C100e-9, L1e-3; + puts two in series.
func element(text string, freqHz float64) (complex128, error) {
	w := 2 * math.Pi * freqHz
	z := complex128(0)
	for _, one := range strings.Split(text, "+") {
		switch one {
		case "open":
			return cmplx.Inf(), nil
		case "short":
			continue
		}
		v, err := strconv.ParseFloat(one[1:], 64)
		if err != nil {
			return 0, err
		}
		switch one[0] {
		case 'R':
			z += complex(v, 0)
		case 'C':
			z += 1 / complex(0, w*v)
		case 'L':
			z += complex(0, w*v)
		default:
			return 0, fmt.Errorf("%q is no element", one)
		}
	}
	return z, nil
}

// phasors are the two channels, peak re full scale, for a source of half of it.
func (b Bench) phasors(part string, freqHz float64) (total, across complex128, err error) {
	z, err := element(part, freqHz)
	if err != nil {
		return 0, 0, err
	}
	w := 2 * math.Pi * freqHz
	const source, behind = 0.5, 33
	y := 1 / z // of an open this is 0
	if z == 0 {
		y = cmplx.Inf()
	}
	if !b.Ideal {
		const leadOhm, leadHenry, farad, inputOhm = 0.05, 0.4e-6, 8e-12, 220e3
		y = 1/(1/y+complex(leadOhm, w*leadHenry)) + complex(1/inputOhm, w*farad)
	}
	zp := 1 / y
	if cmplx.IsInf(zp) || cmplx.IsNaN(zp) {
		total, across = source, source
	} else {
		total = source * (zp + complex(b.Ohm, 0)) / (zp + complex(b.Ohm+behind, 0))
		across = source * zp / (zp + complex(b.Ohm+behind, 0))
	}
	if !b.Ideal {
		const gain, delay = 1.004, 0.3
		across *= complex(gain, 0) * cmplx.Exp(complex(0, -w*delay/b.RateHz))
	}
	return total, across, nil
}

// record plays all tones at once into both channels: a tenth of a second of
// silence, a fade, then the tones to the end.
func (b Bench) record(part string, freqsHz []float64) (*audio.Record, error) {
	frames := int(b.Seconds * b.RateHz)
	rec := &audio.Record{RateHz: b.RateHz, Bits: 24, Channels: [][]float64{make([]float64, frames), make([]float64, frames)}}
	lead, fade := int(0.1*b.RateHz), int(0.01*b.RateHz)
	for _, f := range freqsHz {
		total, across, err := b.phasors(part, f)
		if err != nil {
			return nil, err
		}
		share := complex(1/float64(len(freqsHz)), 0)
		for ch, p := range []complex128{total * share, across * share} {
			for n := lead; n < frames; n++ {
				rise := 0.5 - 0.5*math.Cos(math.Pi*math.Min(1, float64(n-lead)/float64(fade)))
				rec.Channels[ch][n] += rise * cmplx.Abs(p) * math.Cos(2*math.Pi*f*float64(n)/b.RateHz+cmplx.Phase(p))
			}
		}
	}
	random := rand.New(rand.NewPCG(b.Seed, 1))
	for _, x := range rec.Channels {
		for n := range x {
			x[n] += b.Noise * random.NormFloat64()
		}
	}
	return rec, b.harm(rec)
}

// harm does to a recording what goes wrong in practice.
func (b Bench) harm(rec *audio.Record) error {
	x := rec.Channels
	switch b.Spoil {
	case "":
	case "swap":
		x[0], x[1] = x[1], x[0]
	case "invert":
		for n := range x[1] {
			x[1][n] = -x[1][n]
		}
	case "mono":
		x[1] = x[0]
	case "clip":
		for n := range x[0] {
			x[0][n] = math.Max(-0.3, math.Min(0.3, x[0][n]))
		}
	case "silence":
		random := rand.New(rand.NewPCG(b.Seed, 2))
		for ch := range x {
			for n := range x[ch] {
				x[ch][n] = b.Noise * random.NormFloat64()
			}
		}
	case "zeros":
		clear(x[0])
		clear(x[1])
	default:
		return fmt.Errorf("%q is no way to spoil a recording", b.Spoil)
	}
	rec.Channels = x
	return nil
}

// Write writes the recording as a file of 24 bits.
func (b Bench) Write(file, part string, freqsHz []float64) error {
	rec, err := b.record(part, freqsHz)
	if err != nil {
		return err
	}
	f, err := os.Create(file)
	if err != nil {
		return err
	}
	defer f.Close()
	_, err = wave.WriteAll(f, rec, 24, false)
	return err
}

// Jigwav is the command of that name in test scripts:
//
//	jigwav [-ohm 1000] [-seed 1] [-spoil how] PART FREQUENCIES FILE
func Jigwav() {
	b := Default()
	flag.Float64Var(&b.Ohm, "ohm", b.Ohm, "reference")
	flag.BoolVar(&b.Ideal, "ideal", false, "no leads, no strays, equal inputs")
	flag.Float64Var(&b.RateHz, "rate", b.RateHz, "samples per second")
	flag.Float64Var(&b.Seconds, "seconds", b.Seconds, "length")
	flag.Float64Var(&b.Noise, "noise", b.Noise, "rms re full scale")
	flag.Uint64Var(&b.Seed, "seed", b.Seed, "of the noise")
	flag.StringVar(&b.Spoil, "spoil", "", "swap, invert, mono, clip, silence or zeros")
	flag.Parse()
	var freqs []float64
	for _, text := range strings.Split(flag.Arg(1), ",") {
		f, err := strconv.ParseFloat(text, 64)
		if err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		freqs = append(freqs, f)
	}
	if err := b.Write(flag.Arg(2), flag.Arg(0), freqs); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}
