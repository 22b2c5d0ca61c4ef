package testkit

import (
	"math"
	"math/bits"
	"math/cmplx"
	"math/rand/v2"
)

func SumUnrolled[T ~float32 | ~float64 | ~int16 | ~int32](x []T) float64 {
	var a, b, c, d float64
	for ; len(x) >= 4; x = x[4:] {
		a += float64(x[0])
		b += float64(x[1])
		c += float64(x[2])
		d += float64(x[3])
	}
	for _, v := range x {
		a += float64(v)
	}
	return a + b + c + d
}

// Cosine makes a tone whose phase is reduced without rounding.
func Cosine(n int, freqHz, rateHz, amplitude, phase float64) []float64 {
	x := make([]float64, n)
	for i := range x {
		cycles := freqHz * float64(i)
		rest := math.FMA(freqHz, float64(i), -cycles)
		x[i] = amplitude * math.Cos(2*math.Pi*(math.Mod(cycles, rateHz)+rest)/rateHz+phase)
	}
	return x
}

// HumSignal makes one channel: a tone, mains lines that drift, offset and white noise.
func HumSignal(n int, rate, tone, mains, drift, humAmp, sigma float64, orders int, seed uint64) ([]float64, complex128) {
	rng := rand.New(rand.NewPCG(seed, 1))
	x := make([]float64, n)
	a := cmplx.Rect(1, 0.7)
	phases := make([]float64, orders+1)
	for h := range phases {
		phases[h] = 2 * math.Pi * rng.Float64()
	}
	for i := range x {
		t := (float64(i) - float64(n-1)/2) / rate
		x[i] = 0.02 + real(a*cmplx.Exp(complex(0, 2*math.Pi*tone*t)))
		for h := 1; h <= orders; h++ {
			x[i] += humAmp * math.Cos(2*math.Pi*float64(h)*(mains*t+drift/2*t*t)+phases[h])
		}
		x[i] += sigma * rng.NormFloat64()
	}
	return x, a
}

// compensated is a Neumaier sum: its error does not grow with the number of terms.
type compensated struct{ sum, lost float64 }

func (c *compensated) add(v float64) {
	t := c.sum + v
	if math.Abs(c.sum) >= math.Abs(v) {
		c.lost += c.sum - t + v
	} else {
		c.lost += v - t + c.sum
	}
	c.sum = t
}

// DirectCorrelate is the slow reference: compensated sums, and phases reduced in
// integers by code that shares nothing with the kernels. freqHz may be any
// float64 from 32 to 4096, rateHz an integer below 2^16.
func DirectCorrelate[T ~float32 | ~float64 | ~int16 | ~int32](x []T, freqHz float64, rateHz uint64) complex128 {
	const scale = 47 // every float64 from 32 to 4096, and rate·2^47 stays below 2^63
	m, turn := uint64(freqHz*(1<<scale)), rateHz<<scale
	if float64(m) != freqHz*(1<<scale) {
		panic("the reference cannot hold this frequency")
	}
	return correlateBy(x, func(n uint64) float64 {
		hi, lo := bits.Mul64(m, n)
		return float64(bits.Rem64(hi, lo, turn)) / float64(turn)
	})
}

// GridCorrelate is the same for a tone of k cycles in period samples.
func GridCorrelate[T ~float32 | ~float64 | ~int16 | ~int32](x []T, k, period uint64) complex128 {
	return correlateBy(x, func(n uint64) float64 { return float64(k*n%period) / float64(period) })
}

func correlateBy[T ~float32 | ~float64 | ~int16 | ~int32](x []T, turn func(n uint64) float64) complex128 {
	var re, im compensated
	for n, v := range x {
		s, c := math.Sincos(2 * math.Pi * turn(uint64(n)))
		re.add(float64(v) * c)
		im.add(-float64(v) * s)
	}
	return complex(re.sum+re.lost, im.sum+im.lost)
}

// RoughSignal has a tone, an offset, a line elsewhere and noise: nothing
// symmetric, nothing that cancels by luck.
func RoughSignal(n int, turn, amplitude, phase float64, seed uint64) []float64 {
	rng := rand.New(rand.NewPCG(seed, 1))
	x := make([]float64, n)
	for i := range x {
		t := float64(i)
		x[i] = amplitude*math.Cos(2*math.Pi*turn*t+phase) + 0.05 + 0.1*math.Sin(0.0065*t) + 0.01*rng.NormFloat64()
	}
	return x
}

// Blockings are the ways a stream is cut up in tests: each returns the length of
// the next block.
func Blockings() map[string]func() int {
	rng := rand.New(rand.NewPCG(11, 12))
	fixed := func(n int) func() int { return func() int { return n } }
	return map[string]func() int{
		"1": fixed(1), "7": fixed(7), "64": fixed(64), "4096": fixed(4096), "all": fixed(1 << 30),
		"ragged": func() int { return rng.IntN(3000) },
	}
}

const BenchFrames = 10_000_000

var BenchSink float64

func BenchStereo[T ~float32 | ~float64 | ~int16 | ~int32]() [2][]T {
	var out [2][]T
	for ch := range out {
		out[ch] = make([]T, BenchFrames)
		state := uint32(ch + 1)
		for i := range out[ch] {
			state = state*1664525 + 1013904223 // Knuth, TAOCP vol. 2, 3.3.4, table 1, line 16
			out[ch][i] = T(float64(int32(state)) / (1 << 31))
		}
	}
	return out
}
