package testkit

import (
	"math"
	"math/rand/v2"
)

func AbsInt(n int) int { return max(n, -n) }

// SteadyBase is a record that is all tone.
func SteadyBase(freqHz, snrDB float64) Record {
	sigma := 0.5 / math.Sqrt2 * math.Pow(10, -snrDB/20)
	return Record{RateHz: 48000, Seconds: 0.45, TonesHz: []float64{freqHz}, Amp: [2]float64{0.5, 0.25}, Noise: [2]float64{sigma, sigma}}
}

// Interpolate converts samples by the ratio old/new with the given kernel, whose
// half-width in old samples is reach.
func Interpolate(x []float64, ratio float64, reach int, kernel func(d float64) float64) []float64 {
	var out []float64
	for n := 0; ; n++ {
		at := float64(reach) + float64(n)*ratio
		i := int(at)
		if i+reach >= len(x) {
			return out
		}
		v := 0.0
		for k := i - reach + 1; k <= i+reach; k++ {
			v += x[k] * kernel(at-float64(k))
		}
		out = append(out, v)
	}
}

func LinearKernel(d float64) float64 { return math.Max(0, 1-math.Abs(d)) }

// CubicKernel is the usual third-order convolution with slope −½ (R. G. Keys, IEEE
// Trans. ASSP 29 (1981) 1153).
func CubicKernel(d float64) float64 {
	d = math.Abs(d)
	switch {
	case d < 1:
		return 1.5*d*d*d - 2.5*d*d + 1
	case d < 2:
		return -0.5*d*d*d + 2.5*d*d - 4*d + 2
	}
	return 0
}

// SincKernel is a windowed sinc that passes up to part of half the old rate.
func SincKernel(part float64) func(d float64) float64 {
	return func(d float64) float64 {
		if d == 0 {
			return part
		}
		w := 1 - d*d/1024 // Welch
		return w * math.Sin(math.Pi*part*d) / (math.Pi * d)
	}
}

// Record describes a synthetic two-channel record: tones with silence around
// them, hum, noise and a clock that is off. The zero value of a field leaves it out.
type Record struct {
	RateHz        float64
	Seconds       float64
	TonesHz       []float64
	Amp           [2]float64 // of each tone, per channel
	Phase         float64
	Noise         [2]float64 // rms
	Pink          bool
	HumHz, Hum    float64 // seven multiples, falling as 1/order
	ClockPPM      float64
	Silence, Fade float64 // seconds before and after the tone; of its fades
	Bits          int     // 0: floating point
	Delay         float64 // of channel 2, in samples
	Shape         func(ch int, t, v float64) float64
}

// Make returns the samples. shape, if given, acts on the tones before hum and noise.
func (r Record) Make(seed uint64) [][]float64 {
	rng := rand.New(rand.NewPCG(seed, 77))
	n := int(r.Seconds * r.RateHz)
	x := [][]float64{make([]float64, n), make([]float64, n)}
	humPhase := rng.Float64()
	for ch := range x {
		colour := newColour(rng, r.Pink)
		for i := range x[ch] {
			t := float64(i) / r.RateHz
			v := r.envelope(t) * r.tone(ch, (float64(i)-float64(ch)*r.Delay)/r.RateHz)
			if r.Shape != nil {
				v = r.Shape(ch, t, v)
			}
			if r.Hum > 0 {
				for h := 1.0; h <= 7; h++ {
					v += r.Hum / h * math.Cos(2*math.Pi*h*(r.HumHz*t+humPhase))
				}
			}
			x[ch][i] = Round(v+r.Noise[ch]*colour(), r.Bits)
		}
	}
	return x
}

func (r Record) tone(ch int, t float64) float64 {
	v := 0.0
	for i, f := range r.TonesHz {
		v += r.Amp[ch] * math.Cos(2*math.Pi*f*(1-r.ClockPPM*1e-6)*t+r.Phase+1.7*float64(i*i))
	}
	return v
}

func (r Record) envelope(t float64) float64 {
	d := math.Min(t-r.Silence, r.Seconds-r.Silence-t)
	switch {
	case d < 0:
		return 0
	case d < r.Fade:
		return (1 - math.Cos(math.Pi*d/r.Fade)) / 2
	}
	return 1
}

// newColour returns a source of noise of unit variance: white, or pink as a sum of
// first-order processes a decade apart with equal variance.
func newColour(rng *rand.Rand, pink bool) func() float64 {
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

// Round quantises to a grid of the given number of bits and clips to it.
func Round(v float64, bits int) float64 {
	if bits == 0 {
		return v
	}
	full := math.Exp2(float64(bits - 1))
	return math.Max(-full, math.Min(full-1, math.Round(v*full))) / full
}

// Cut removes n frames at frame at.
func Cut(x [][]float64, at, n int) [][]float64 {
	out := make([][]float64, len(x))
	for ch := range x {
		out[ch] = append(append([]float64(nil), x[ch][:at]...), x[ch][at+n:]...)
	}
	return out
}

// Fill replaces n frames from frame at by what f says.
func Fill(x [][]float64, at, n int, f func(ch, i int) float64) [][]float64 {
	out := make([][]float64, len(x))
	for ch := range x {
		out[ch] = append([]float64(nil), x[ch]...)
		for i := at; i < at+n; i++ {
			out[ch][i] = f(ch, i)
		}
	}
	return out
}
