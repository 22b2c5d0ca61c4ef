package lockin

import (
	"flag"
	"math"
	"math/rand/v2"
	"testing"
)

// needSoak skips the test unless the long ones were asked for.
func needSoak(t *testing.T) {
	t.Helper()
	if f := flag.Lookup("soak"); f == nil || f.Value.String() != "true" {
		t.Skip("long; run with -soak")
	}
}

// simRecord describes a synthetic two-channel record: tones with silence around
// them, hum, noise and a clock that is off. The zero value of a field leaves it out.
type simRecord struct {
	rateHz        float64
	seconds       float64
	tonesHz       []float64
	amp           [2]float64 // of each tone, per channel
	phase         float64
	noise         [2]float64 // rms
	pink          bool
	humHz, hum    float64 // seven multiples, falling as 1/order
	clockPPM      float64
	silence, fade float64 // seconds before and after the tone; of its fades
	bits          int     // 0: floating point
	delay         float64 // of channel 2, in samples
	shape         func(ch int, t, v float64) float64
}

// make returns the samples. shape, if given, acts on the tones before hum and noise.
func (r simRecord) make(seed uint64) [][]float64 {
	rng := rand.New(rand.NewPCG(seed, 77))
	n := int(r.seconds * r.rateHz)
	x := [][]float64{make([]float64, n), make([]float64, n)}
	humPhase := rng.Float64()
	for ch := range x {
		colour := newColour(rng, r.pink)
		for i := range x[ch] {
			t := float64(i) / r.rateHz
			v := r.envelope(t) * r.tone(ch, (float64(i)-float64(ch)*r.delay)/r.rateHz)
			if r.shape != nil {
				v = r.shape(ch, t, v)
			}
			if r.hum > 0 {
				for h := 1.0; h <= 7; h++ {
					v += r.hum / h * math.Cos(2*math.Pi*h*(r.humHz*t+humPhase))
				}
			}
			x[ch][i] = round(v+r.noise[ch]*colour(), r.bits)
		}
	}
	return x
}

func (r simRecord) tone(ch int, t float64) float64 {
	v := 0.0
	for i, f := range r.tonesHz {
		v += r.amp[ch] * math.Cos(2*math.Pi*f*(1-r.clockPPM*1e-6)*t+r.phase+1.7*float64(i*i))
	}
	return v
}

func (r simRecord) envelope(t float64) float64 {
	d := math.Min(t-r.silence, r.seconds-r.silence-t)
	switch {
	case d < 0:
		return 0
	case d < r.fade:
		return (1 - math.Cos(math.Pi*d/r.fade)) / 2
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

// round quantises to a grid of the given number of bits and clips to it.
func round(v float64, bits int) float64 {
	if bits == 0 {
		return v
	}
	full := math.Exp2(float64(bits - 1))
	return math.Max(-full, math.Min(full-1, math.Round(v*full))) / full
}

// cut removes n frames at frame at.
func cut(x [][]float64, at, n int) [][]float64 {
	out := make([][]float64, len(x))
	for ch := range x {
		out[ch] = append(append([]float64(nil), x[ch][:at]...), x[ch][at+n:]...)
	}
	return out
}

// fill replaces n frames from frame at by what f says.
func fill(x [][]float64, at, n int, f func(ch, i int) float64) [][]float64 {
	out := make([][]float64, len(x))
	for ch := range x {
		out[ch] = append([]float64(nil), x[ch]...)
		for i := at; i < at+n; i++ {
			out[ch][i] = f(ch, i)
		}
	}
	return out
}

// chance returns the largest number of events that n trials of probability p give
// with a chance above one in a thousand.
func chance(n int, p float64) int {
	mean := float64(n) * p
	sum, term := 0.0, math.Exp(-mean)
	for k := 0; ; k++ {
		sum += term
		if 1-sum < 1e-3 {
			return k
		}
		term *= mean / float64(k+1)
	}
}
