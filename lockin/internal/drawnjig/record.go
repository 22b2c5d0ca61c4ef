package drawnjig

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
)

// Record says how the samples of one recording come about. The zero value of a field
// leaves out what it stands for.
type Record struct {
	RateHz        float64
	Seconds       float64 // of the tone, fades included
	Before, After float64 // seconds of silence around it: noise and hum are there
	FadeS         float64
	Tones         []Tone
	// Hear is what each input hears of the source at a frequency: full scale per unit
	// of the source, a complex gain.
	Hear func(freqHz float64) [2]complex128
	// Overtones of the source, relative to each tone, from the second on. They pass
	// part and jig like the tone itself.
	Overtones []complex128
	ClockPPM  float64 // by how much the recording clock runs faster than the playing one
	TurnAtS   float64 // seconds after the tone begins at which its sign turns; 0 for never
	TurnS     float64 // seconds that the turn takes: down to zero and up again

	Noise  [2]float64 // rms
	Common float64    // rms of noise that both inputs hear alike
	Pink   bool
	Hum    Hum
	Offset [2]float64
	Curve  [2]func(v float64) float64 // of each input, on signal and hum; nil for a straight line

	// Spoil acts in this order on what was heard; the samples are rounded by one of
	// them, see Round.
	Spoil []Spoil
}

// Tone is one tone of the source: peak, radians at the first frame of the tone.
type Tone struct{ FreqHz, Amplitude, Phase float64 }

// Hum is what both inputs hear of the mains.
type Hum struct {
	Hz      float64
	Drift   float64 // Hz per second
	Swing   float64 // of the amplitude, relative, SwingHz times a second
	SwingHz float64
	Lines   []HumLine
}

// HumLine is one multiple of the mains frequency, with its complex amplitude per input.
type HumLine struct {
	Order     int
	Amplitude [2]complex128
}

// Spoil changes the samples of both inputs; it may return others, also more or fewer.
type Spoil func(x [][]float64, rateHz float64, rng *rand.Rand) [][]float64

// Samples makes the recording, one slice per input.
func (r Record) Samples(rng *rand.Rand) [][]float64 {
	n := int(math.Round((r.Before + r.Seconds + r.After) * r.RateHz))
	x := [][]float64{make([]float64, n), make([]float64, n)}
	env := r.envelope(n)
	for _, t := range r.Tones {
		r.addTone(x, env, t.FreqHz, complex(t.Amplitude, 0)*cmplx.Rect(1, t.Phase))
		for k, o := range r.Overtones {
			order := float64(k + 2)
			if hz := order * t.FreqHz; hz < r.RateHz/2 && o != 0 {
				r.addTone(x, env, hz, o*complex(t.Amplitude, 0)*cmplx.Rect(1, order*t.Phase))
			}
		}
	}
	r.Hum.add(x, r.RateHz)
	for ch, curve := range r.Curve {
		if curve != nil {
			for i, v := range x[ch] {
				x[ch][i] = curve(v)
			}
		}
	}
	r.addNoise(x, rng)
	for _, s := range r.Spoil {
		x = s(x, r.RateHz, rng)
	}
	return x
}

// envelope is what the tones are multiplied with, frame by frame.
func (r Record) envelope(n int) []float64 {
	env := make([]float64, n)
	for i := range env {
		t := float64(i)/r.RateHz - r.Before
		if t < 0 || t > r.Seconds {
			continue
		}
		env[i] = rise(math.Min(t, r.Seconds-t), r.FadeS)
		if r.TurnAtS > 0 {
			env[i] *= rise(math.Abs(t-r.TurnAtS), r.TurnS/2)
			if t > r.TurnAtS {
				env[i] = -env[i]
			}
		}
	}
	return env
}

// rise goes from 0 at t = 0 to 1 at t = length, smoothly.
func rise(t, length float64) float64 {
	if t >= length {
		return 1
	}
	return (1 - math.Cos(math.Pi*t/length)) / 2
}

// addTone adds a tone that the source makes, as each input hears it.
func (r Record) addTone(x [][]float64, env []float64, freqHz float64, source complex128) {
	heard := r.Hear(freqHz)
	turns := freqHz * (1 - r.ClockPPM*1e-6) / r.RateHz
	begin := r.Before * r.RateHz
	for ch := range x {
		a := source * heard[ch]
		eachTurn(len(env), turns, -turns*begin, func(i int, e complex128) {
			if env[i] != 0 {
				x[ch][i] += env[i] * real(a*e)
			}
		})
	}
}

// eachTurn calls do with exp(j2π(turns·i + start)) for i = 0 … n−1.
func eachTurn(n int, turns, start float64, do func(i int, e complex128)) {
	const renew = 512 // recursion loses an ulp a step
	step := cmplx.Rect(1, 2*math.Pi*turns)
	var e complex128
	for i := range n {
		if i%renew == 0 {
			at := turns*float64(i) + start
			e = cmplx.Rect(1, 2*math.Pi*(at-math.Round(at)))
		}
		do(i, e)
		e *= step
	}
}

func (h Hum) add(x [][]float64, rateHz float64) {
	for _, l := range h.Lines {
		for i := range x[0] {
			t := float64(i) / rateHz
			turn := float64(l.Order) * (h.Hz*t + h.Drift*t*t/2)
			sin, cos := math.Sincos(2 * math.Pi * (turn - math.Round(turn)))
			swing := 1 + h.Swing*math.Sin(2*math.Pi*h.SwingHz*t)
			for ch := range x {
				x[ch][i] += swing * (real(l.Amplitude[ch])*cos - imag(l.Amplitude[ch])*sin)
			}
		}
	}
}

func (r Record) addNoise(x [][]float64, rng *rand.Rand) {
	if r.Common > 0 {
		colour := noiseSource(rng, r.Pink)
		for i := range x[0] {
			v := r.Common * colour()
			x[0][i] += v
			x[1][i] += v
		}
	}
	for ch := range x {
		colour := noiseSource(rng, r.Pink)
		for i := range x[ch] {
			x[ch][i] += r.Offset[ch]
			if r.Noise[ch] > 0 {
				x[ch][i] += r.Noise[ch] * colour()
			}
		}
	}
}

// noiseSource returns noise of unit variance: white, or roughly 1/f as a sum of
// first-order processes a decade apart.
func noiseSource(rng *rand.Rand, pink bool) func() float64 {
	if !pink {
		return rng.NormFloat64
	}
	poles := []float64{0, 0.9, 0.99, 0.999, 0.9999}
	state := make([]float64, len(poles))
	return func() float64 {
		v := 0.0
		for i, p := range poles {
			state[i] = p*state[i] + math.Sqrt(1-p*p)*rng.NormFloat64()
			v += state[i]
		}
		return v / math.Sqrt(float64(len(poles)))
	}
}

// DrawHum draws mains near 50 or 60 Hz with lines of a falling spectrum, mostly odd
// ones; level is the amplitude of the strongest.
func DrawHum(rng *rand.Rand, level float64) Hum {
	h := Hum{Hz: 50, Drift: 0.005 * rng.NormFloat64(), SwingHz: 0.3 + 2*rng.Float64()}
	if rng.IntN(2) == 0 {
		h.Hz = 60
	}
	h.Hz += 0.04 * (rng.Float64() - 0.5)
	slope, even, top := 0.5+1.5*rng.Float64(), math.Pow(10, -1.5*rng.Float64()), 0.0
	for k := 1; k <= 11; k++ {
		a := math.Pow(float64(k), -slope) * math.Exp(0.5*rng.NormFloat64())
		if k%2 == 0 {
			a *= even
		}
		line := HumLine{Order: k}
		for ch := range line.Amplitude {
			line.Amplitude[ch] = cmplx.Rect(a*math.Exp(0.3*rng.NormFloat64()), 2*math.Pi*rng.Float64())
			top = math.Max(top, cmplx.Abs(line.Amplitude[ch]))
		}
		h.Lines = append(h.Lines, line)
	}
	for i := range h.Lines {
		for ch := range h.Lines[i].Amplitude {
			h.Lines[i].Amplitude[ch] *= complex(level/top, 0)
		}
	}
	return h
}

// Sampled is the recording, as samples, of what has these siemens at the terminals: a new
// insertion, with the jig's clocks and noise. Tones are those of the source.
func (j *Jig) Sampled(siemens func(freqHz float64) complex128, tones ...Tone) Record {
	in := j.Insert()
	return Record{
		RateHz: j.RateHz, Seconds: j.Noise.Seconds, Before: 0.15, After: 0.05, FadeS: 0.01, Tones: tones,
		Hear: func(freqHz float64) [2]complex128 {
			hz := j.TrueHz(freqHz)
			return j.Transfer(hz, siemens(hz), in)
		},
		ClockPPM: 1e6 * (j.RecordClock - j.PlayClock), Noise: j.Noise.RMS,
	}
}
