package lockin

import (
	"math"
	"testing"
	"time"
)

// The streaming kernels against two things anyone can write, taken in turns with them
// in the same run: plain, a rotating phasor and four poles, sample by sample; sum, an
// unrolled sum of one channel.

const benchBlock = 48_000

var benchSink float64

func sumUnrolled[T Sample](x []T) float64 {
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

// plainLockIn is the loop anyone writes.
func plainLockIn(x []float64, stepRad, gain float64, state *[4]complex128) {
	s, c := math.Sincos(-stepRad)
	turn, w := complex(c, s), complex128(2)
	a, b, e, f := state[0], state[1], state[2], state[3]
	g := complex(gain, 0)
	for _, v := range x {
		a += g * (complex(v*real(w), v*imag(w)) - a)
		b += g * (a - b)
		e += g * (b - e)
		f += g * (e - f)
		w *= turn
	}
	state[0], state[1], state[2], state[3] = a, b, e, f
}

type benchCase struct {
	name     string
	channels int
	cfg      Config
	targets  string
}

func benchCases() []benchCase {
	tone, lock := []float64{1000}, Lock{NearHz: 1000}
	return []benchCase{
		{"every=480", 1, Config{TonesHz: tone, Every: 480}, "0.35"},
		{"every=48", 1, Config{TonesHz: tone, Every: 48}, "0.35"},
		{"every=16", 1, Config{TonesHz: tone, Every: 16}, ""},
		{"every=1", 1, Config{TonesHz: tone, Every: 1}, "0.55"},
		{"every=480/channels=8", 8, Config{TonesHz: tone, Every: 480}, "0.4"},
		{"locked", 1, Config{Lock: lock, Every: 480}, "1.2"},
		{"locked/channels=8", 8, Config{Lock: lock, Every: 480}, "0.5"},
		{"locked/channels=8/harmonics=3", 8, Config{Lock: lock, Every: 480, Harmonics: []int{1, 2, 3}}, "1.5"},
		{"external/channels=8", 8, Config{External: true, Every: 480}, ""},
		{"fir=20to80", 1, Config{TonesHz: tone, Filter: Filter{PassHz: 20, StopHz: 80}}, "0.7"},
		{"fir=20to80/channels=8", 8, Config{TonesHz: tone, Filter: Filter{PassHz: 20, StopHz: 80}}, "0.7"},
		{"fir=1000to1400", 1, Config{TonesHz: tone, Filter: Filter{PassHz: 1000, StopHz: 1400}}, "1.4"},
		{"dump=480", 1, Config{TonesHz: tone, Filter: Filter{Cycles: 10}}, ""},
		{"dump=4800", 1, Config{TonesHz: tone, Filter: Filter{Cycles: 100}}, "0.08"},
	}
}

// BenchmarkDemodulator reports the time per frame and channel as multiples of plain and
// of sum.
func BenchmarkDemodulator(b *testing.B) {
	for _, c := range benchCases() {
		b.Run(c.name+"/float64", func(b *testing.B) { benchDemodulator[float64](b, c) })
		b.Run(c.name+"/int16", func(b *testing.B) { benchDemodulator[int16](b, c) })
	}
}

func benchDemodulator[T Sample](b *testing.B, c benchCase) {
	c.cfg.RateHz, c.cfg.Channels = 48000, c.channels
	d := mustNew[T](b, c.cfg)
	wide := make([]float64, benchBlock)
	x := make([]T, benchBlock*c.channels)
	ref := ownReference(benchBlock)
	for i := range x {
		x[i] = T(0.7 / (1 / fullScale[T]()) * real(ref[i/c.channels]) * 0.9)
	}
	for i := range wide {
		wide[i] = real(ref[i])
	}
	var r Result
	var state [4]complex128
	plain, sum, own := time.Duration(1<<62), time.Duration(1<<62), time.Duration(1<<62)
	for b.Loop() {
		t0 := time.Now()
		plainLockIn(wide, 2*math.Pi/48, 2e-4, &state)
		t1 := time.Now()
		benchSink += sumUnrolled(wide)
		t2 := time.Now()
		r.Clear()
		if c.cfg.External {
			d.ProcessWith(&r, Interleaved(x, c.channels), ref)
		} else {
			d.Process(&r, Interleaved(x, c.channels))
		}
		t3 := time.Now()
		plain, sum, own = min(plain, t1.Sub(t0)), min(sum, t2.Sub(t1)), min(own, t3.Sub(t2))
	}
	each := float64(own) / float64(c.channels)
	b.ReportMetric(each/float64(plain), "x-plain")
	b.ReportMetric(each/float64(sum), "x-sum")
	b.ReportMetric(each/benchBlock, "ns/frame")
	b.ReportMetric(0, "ns/op")
}
