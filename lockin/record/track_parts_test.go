package record

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"example.org/wheatear/lockin/internal/phase"
	"example.org/wheatear/lockin/internal/testkit"
	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"
)

func TestStepMeter(t *testing.T) {
	for _, c := range []struct {
		name string
		wrap bool
		at   func(i int) float64
		size float64
		seg  float64
	}{
		{"slope", false, func(i int) float64 { return 0.1 * float64(i) }, 0, -1},
		{"jump at a boundary", false, func(i int) float64 { return 0.1*float64(i) + 2*step01(i, 20) }, 2, 20},
		{"jump inside a segment", true, func(i int) float64 { return 0.5*float64(i) + 1.5*(step01(i, 21)+0.4*one(i, 20)) }, 1.5, 20},
		{"wrapping slope", true, func(i int) float64 { return math.Remainder(1.4*float64(i), 2*math.Pi) }, 0, -1},
	} {
		m := stepMeter{wrap: c.wrap}
		for i := range 60 {
			m.add(c.at(i), int64(i))
		}
		got := m.result(1)
		if math.Abs(math.Abs(got.Size)-c.size) > 1e-9 {
			t.Errorf("%s: step %g, want %g", c.name, got.Size, c.size)
		}
		if c.seg >= 0 && math.Abs(got.AtS-c.seg) > 1.5 {
			t.Errorf("%s: at segment %g, want %g", c.name, got.AtS, c.seg)
		}
	}
}

func step01(i, at int) float64 {
	if i >= at {
		return 1
	}
	return 0
}

func one(i, at int) float64 { return step01(i, at) - step01(i, at+1) }

func TestStepMeterForgetsAcrossGap(t *testing.T) {
	m := stepMeter{}
	for i := range 20 {
		if i == 10 {
			m.gap()
		}
		m.add(5*step01(i, 10), int64(i))
	}
	if got := m.result(1); got.Size != 0 {
		t.Errorf("got a step of %g across the gap", got.Size)
	}
	if got := (&stepMeter{}).result(1); got != (TrackStep{}) {
		t.Errorf("nothing added gives %+v", got)
	}
}

// A channel's sums do not depend on the blocks, and find the peak on either side.
func TestChannelStats(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.SliceOfN(rapid.Float64Range(-1, 1), 1, 50).Draw(t, "x")
		cut := rapid.IntRange(0, len(x)).Draw(t, "cut")
		var s, part channelStats
		s.add(x[:cut])
		part.add(x[cut:])
		s.join(part)
		sum, energy, peak := 0.0, 0.0, 0.0
		for _, v := range x {
			sum, energy, peak = sum+v, energy+v*v, math.Max(peak, math.Abs(v))
		}
		if s.n != float64(len(x)) || math.Abs(s.sum-sum) > 1e-13 || math.Abs(s.energy-energy) > 1e-13 || s.peak != peak || !s.finite() {
			t.Fatalf("got %+v, want %g, %g, %g", s, sum, energy, peak)
		}
	})
	for _, bad := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		for at := range 3 {
			x := make([]float64, 3)
			x[at] = bad
			var s channelStats
			if s.add(x); s.finite() {
				t.Errorf("%g at %d is not noticed", bad, at)
			}
		}
	}
}

// The fit of a segment is exact for an offset and one tone, of whatever phase, off
// whatever the correlation was made at.
func TestMirrorFitIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 4).Draw(t, "n") * 1024
		step := phase.TurnsOf(rapid.Float64Range(100, 20_000).Draw(t, "f"), 48000)
		off := phase.Near(rapid.Float64Range(-0.2, 0.2).Draw(t, "off") / float64(n))
		z := cmplx.Rect(rapid.Float64Range(0.1, 1).Draw(t, "a"), rapid.Float64Range(-3, 3).Draw(t, "phase"))
		offset := rapid.Float64Range(-0.5, 0.5).Draw(t, "offset")
		sum, mean := complex128(0), 0.0
		for i := range n {
			w := step.Add(off).Times(uint64(i)).Phasor()
			v := offset + real(z*w)
			mean += v / float64(n)
			sum += complex(2*v/float64(n), 0) * step.Times(uint64(i)).Neg().Phasor()
		}
		g := newMirror(step, off, n)
		if got := g.fit(mean, sum) / g.tone; cmplx.Abs(got-z) > 1e-11 {
			t.Fatalf("got %v, want %v", got, z)
		}
	})
}

// A series that halved twice says what it said before, with the phase that runs.
func TestPhasorSeriesHalves(t *testing.T) {
	const omega = 0.02
	s := newPhasorSeries(1)
	for i := range 3*trackCapacity + 5 {
		used := i%7 != 3
		s.add([]complex128{cmplx.Rect(2, omega*float64(i)+0.5)}, used)
		if s.full() {
			s.halve(s.advance())
		}
	}
	if s.span != 4 || s.full() {
		t.Fatalf("each of %d entries stands for %d segments", len(s.weight), s.span)
	}
	if math.Abs(s.advance()-omega) > 1e-12 || !s.clear() {
		t.Errorf("advance %g, want %g", s.advance(), omega)
	}
	for i, z := range s.z {
		if s.weight[i] < 3 || s.weight[i] > 4 {
			t.Fatalf("entry %d stands for %g used segments", i, s.weight[i])
		}
		middle := float64(4*i) + 1.5
		if d := cmplx.Abs(z - cmplx.Rect(2, omega*middle+0.5)); d > 1e-9 {
			t.Fatalf("entry %d is off by %.2g", i, d)
		}
	}
}

// Noise has no frequency, a tone has.
func TestPhasorSeriesClear(t *testing.T) {
	rng := rand.New(rand.NewPCG(91, 92))
	noise, tone := newPhasorSeries(2), newPhasorSeries(2)
	for range 1000 {
		a, b := complex(rng.NormFloat64(), rng.NormFloat64()), complex(rng.NormFloat64(), rng.NormFloat64())
		noise.add([]complex128{a, b}, true)
		tone.add([]complex128{1 + a, 1 + b}, true)
	}
	if noise.clear() || !tone.clear() {
		t.Errorf("noise clear: %v (%.3f), tone clear: %v (%.3f)", noise.clear(), noise.coherence(), tone.clear(), tone.coherence())
	}
	if s := newPhasorSeries(1); s.clear() || s.advance() != 0 || s.coherence() != 0 {
		t.Error("an empty series has a frequency")
	}
}

func TestBatches(t *testing.T) {
	s := newPhasorSeries(2)
	const omega = 0.001
	for i := range 320 {
		t := float64(i) - 159.5 // from the middle of the series
		s.add([]complex128{cmplx.Rect(1, omega*t+0.2), cmplx.Rect(0.5, omega*t-1)}, true)
	}
	b := s.batches(0)
	if len(b.weight) != trackBatches || b.total() != 320 {
		t.Fatalf("%d batches of %g segments in all", len(b.weight), b.total())
	}
	slope, u := b.slope()
	testkit.CheckRel(t, "slope", slope, omega, 1e-9)
	if u > 1e-9 {
		t.Errorf("uncertainty of a perfect line: %g", u)
	}
	b = s.batches(omega)
	for ch, want := range []complex128{cmplx.Rect(1, 0.2), cmplx.Rect(0.5, -1)} {
		if d := cmplx.Abs(b.mean()[ch] - want); d > 1e-12 {
			t.Errorf("channel %d: mean off by %.2g", ch, d)
		}
	}
	if c := b.covariance(); mat.Trace(c) > 1e-24 {
		t.Errorf("a perfect tone has variance %g", mat.Trace(c))
	}
}

// The covariance of batch means of white scatter is σ²/n, in every run of many on
// average, and that of what channels share lies off the diagonal.
func TestBatchCovariance(t *testing.T) {
	rng := rand.New(rand.NewPCG(93, 94))
	const runs, n = 200, 160
	var own, shared float64
	for range runs {
		s := newPhasorSeries(2)
		for range n {
			c := complex(rng.NormFloat64(), rng.NormFloat64())
			s.add([]complex128{1 + 0.1*c, 2 + 0.2*c + complex(0, 0.1*rng.NormFloat64())}, true)
		}
		b := s.batches(0)
		cov := b.covariance()
		own += cov.At(0, 0) / runs
		shared += cov.At(0, 2) / runs
	}
	// 200 runs with 15 degrees of freedom scatter by √(2/3000) = 2.6 %.
	testkit.CheckRel(t, "variance", own, 0.01/n, 0.1)
	testkit.CheckRel(t, "covariance", shared, 0.02/n, 0.1)
}

func TestTurnCovariance(t *testing.T) {
	c := mat.NewSymDense(2, []float64{4, 0, 0, 1})
	turnCovariance(c, 1i)
	if math.Abs(c.At(0, 0)-1) > 1e-15 || math.Abs(c.At(1, 1)-4) > 1e-15 || math.Abs(c.At(0, 1)) > 1e-15 {
		t.Errorf("a quarter turn gives %v", mat.Formatted(c))
	}
	turnCovariance(c, cmplx.Rect(2, math.Pi/4))
	if math.Abs(c.At(0, 0)-10) > 1e-13 || math.Abs(c.At(0, 1)+6) > 1e-13 {
		t.Errorf("an eighth of a turn, doubled, gives %v", mat.Formatted(c))
	}
}
