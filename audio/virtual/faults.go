package virtual

import (
	"fmt"
	"math"
	"math/rand/v2"
)

// Faults are what real cards, drivers and systems do to a signal. The zero value
// has none. Levels are re full scale, one for each input where there are two; all
// that is random comes from the seed of the [Card].
type Faults struct {
	LatencyFrames int // of the way from output to input, on top of what playing and hearing take
	SilenceFrames int // exact zeros at the beginning

	Crosstalk [2]float64 // part of the other input that gets into this one
	Gain      [2]float64 // error: 0.01 is 1 % too much
	GainDrift float64    // standard deviation of the ratio of the gains, from run to run
	Delay     [2]float64 // samples, any fraction, up to 16 either way
	ClockPPM  float64    // the recorder takes so many samples too many: tones appear low

	Third [2]float64 // third harmonic of a sine of full scale, relative to it; it falls as the level squared

	Hum       Hum
	Offset    [2]float64
	Noise     [2]float64 // rms, white
	PinkNoise [2]float64 // rms, power as 1/f

	AutoGain   float64 // peak level that a gain for both inputs slowly goes to; 0 for none
	Clip       bool    // at full scale
	Bits       int     // resolution, which clips too; 0 for floating point
	ResampleHz float64 // the system goes through this rate, without much care; 0 for none

	Drops         []Drop
	Mono, Swapped bool // both inputs their mean; exchanged
}

// Hum is the mains with its multiples.
type Hum struct {
	Hz     float64
	Levels []float64 // peak of the mains itself, of twice its frequency, and so on
}

// Drop is a place where samples go missing.
type Drop struct {
	Frame    int64 // of the record
	Frames   int
	Fill     Fill
	Reported bool // with an event
}

// Fill is what is found where samples went missing.
type Fill uint8

const (
	Cut    Fill = iota // nothing: the record goes on with what comes later
	Zeros              // zeros in their place
	Repeat             // what came just before, once more
)

// TypicalFaults draws those of an ordinary card that works as it should: noise,
// hum, offset, unequal inputs, clocks apart (common practice, no source).
func TypicalFaults(seed uint64) Faults {
	r := rand.New(rand.NewPCG(seed, 0))
	within := func(limit float64) float64 { return limit * (2*r.Float64() - 1) }
	return Faults{
		LatencyFrames: 1000 + r.IntN(4000),
		Crosstalk:     [2]float64{within(5e-5), within(5e-5)},
		Gain:          [2]float64{within(0.01), within(0.01)},
		GainDrift:     5e-6,
		Delay:         [2]float64{0, within(0.4)},
		Hum:           Hum{Hz: 50 + within(0.03), Levels: []float64{3e-4, 3e-5, 1e-4, 0, 5e-5}},
		Offset:        [2]float64{within(1e-3), within(1e-3)},
		Noise:         [2]float64{4e-6, 4e-6},
		PinkNoise:     [2]float64{1e-6, 1e-6},
		Bits:          24,
	}
}

// check judges every value.
func (f *Faults) check() error {
	if f.LatencyFrames < 0 || f.SilenceFrames < 0 || f.LatencyFrames > maxWait || f.SilenceFrames > maxWait {
		return fmt.Errorf("virtual: a latency of %d and a silence of %d frames; 0 to %d are possible", f.LatencyFrames, f.SilenceFrames, maxWait)
	}
	if f.Bits != 0 && (f.Bits < 2 || f.Bits > 32) {
		return fmt.Errorf("virtual: a resolution of %d bits; 2 to 32 are possible, or 0 for floating point", f.Bits)
	}
	if !(math.Abs(f.ClockPPM) <= maxPPM) {
		return fmt.Errorf("virtual: a clock that is %g ppm off; %d either way are possible", f.ClockPPM, maxPPM)
	}
	if f.ResampleHz != 0 && !(f.ResampleHz >= 1000 && f.ResampleHz <= 1e6) {
		return fmt.Errorf("virtual: resampling at %g Hz; 1000 to 1000000 are possible", f.ResampleHz)
	}
	if bad(f.Third[0], f.Third[1], f.GainDrift, f.AutoGain, f.Hum.Hz, f.Noise[0], f.Noise[1], f.PinkNoise[0], f.PinkNoise[1]) || bad(f.Hum.Levels...) {
		return fmt.Errorf("virtual: a level in %+v that is negative or not finite", *f)
	}
	for ch := range 2 {
		if bad(math.Abs(f.Crosstalk[ch]), math.Abs(f.Gain[ch]), math.Abs(f.Offset[ch])) || !(math.Abs(f.Delay[ch]) <= maxDelay) {
			return fmt.Errorf("virtual: crosstalk, gain, offset or delay of input %d: finite, a delay up to %d samples", ch+1, maxDelay)
		}
	}
	return checkDrops(f.Drops)
}

const (
	maxWait  = 10_000_000 // frames
	maxPPM   = 50_000     // a player at 44.1 instead of 48 kHz is another matter: 81 250
	maxDelay = 16         // samples
)

// checkDrops wants them in order and apart.
func checkDrops(drops []Drop) error {
	end := int64(0)
	for _, d := range drops {
		if d.Frame < end || d.Frames < 1 || d.Frames > maxWait || d.Fill > Repeat {
			return fmt.Errorf("virtual: a drop %+v; they come in order, do not overlap, and have 1 to %d frames", d, maxWait)
		}
		end = d.Frame
		if d.Fill != Cut {
			end += int64(d.Frames)
		}
	}
	return nil
}

// stage does something to frames: it appends what comes of src to dst. How src is
// divided into blocks makes no difference.
type stage interface {
	process(dst, src []frame) []frame
}

// stages lists what the faults amount to, in the order of the signal's way.
func (f *Faults) stages(rateHz float64, seed, run uint64, k *kernel) []stage {
	random := func(what uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, run<<8|what)) }
	var all []stage
	if f.Crosstalk != [2]float64{} || f.Gain != [2]float64{} || f.GainDrift > 0 {
		all = append(all, f.mixer(random(1)))
	}
	if f.ClockPPM != 0 || f.Delay != [2]float64{} {
		all = append(all, newResampler(1/(1+f.ClockPPM*1e-6), f.Delay, k))
	}
	if f.Third != [2]float64{} {
		// cos³ is a quarter of the third harmonic and three of the tone.
		all = append(all, each(func(y *frame) {
			for ch, t := range f.Third {
				y[ch] += 4 * t * y[ch] * y[ch] * y[ch]
			}
		}))
	}
	if f.Offset != [2]float64{} {
		all = append(all, each(func(y *frame) { y[0] += f.Offset[0]; y[1] += f.Offset[1] }))
	}
	if len(f.Hum.Levels) > 0 {
		all = append(all, newHum(f.Hum, rateHz, random(2)))
	}
	if f.Noise != [2]float64{} {
		all = append(all, white(f.Noise, random(3)))
	}
	if f.PinkNoise != [2]float64{} {
		all = append(all, newPink(f.PinkNoise, random(4)))
	}
	if f.AutoGain > 0 {
		all = append(all, newAutoGain(f.AutoGain, rateHz))
	}
	if f.Clip && f.Bits == 0 {
		all = append(all, each(func(y *frame) { y[0], y[1] = clip(y[0]), clip(y[1]) }))
	}
	if f.Bits > 0 {
		all = append(all, quantise(f.Bits))
	}
	if f.ResampleHz > 0 {
		all = append(all, newSystem(rateHz, f.ResampleHz))
	}
	if len(f.Drops) > 0 {
		all = append(all, &dropper{drops: f.Drops})
	}
	return append(all, f.routing()...)
}

// routing is what happens between the driver and the program.
func (f *Faults) routing() (all []stage) {
	if f.Mono {
		all = append(all, each(func(y *frame) { m := (y[0] + y[1]) / 2; y[0], y[1] = m, m }))
	}
	if f.Swapped {
		all = append(all, each(func(y *frame) { y[0], y[1] = y[1], y[0] }))
	}
	if f.SilenceFrames > 0 {
		left := f.SilenceFrames
		all = append(all, each(func(y *frame) {
			if left > 0 {
				left--
				*y = frame{}
			}
		}))
	}
	return all
}

// mixer is crosstalk and gain, with the drift of this run.
func (f *Faults) mixer(r *rand.Rand) stage {
	a, b := 1+f.Gain[0], (1+f.Gain[1])*(1+f.GainDrift*r.NormFloat64())
	return each(func(y *frame) {
		y[0], y[1] = a*(y[0]+f.Crosstalk[0]*y[1]), b*(y[1]+f.Crosstalk[1]*y[0])
	})
}

// each is a stage that changes every frame by itself.
type each func(y *frame)

func (e each) process(dst, src []frame) []frame {
	for _, y := range src {
		e(&y)
		dst = append(dst, y)
	}
	return dst
}

func clip(v float64) float64 { return max(-1, min(v, 1)) }

// quantise rounds to steps of 2^-(bits-1), of which the highest is one below 1.
func quantise(bits int) stage {
	scale := math.Ldexp(1, bits-1)
	round := func(v float64) float64 { return max(-scale, min(math.RoundToEven(v*scale), scale-1)) / scale }
	return each(func(y *frame) { y[0], y[1] = round(y[0]), round(y[1]) })
}
