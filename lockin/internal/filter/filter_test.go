package filter

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"example.org/wheatear/lockin/internal/phase"
	"gonum.org/v1/gonum/stat/combin"
	"pgregory.net/rapid"
)

// Sums of sums are what they are said to be: weights C(age+i, i).
func TestSumsOfSums(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	const n = 61
	x, one, decay := make([]float64, n), make([]float64, n), make([]float64, n)
	w := make([][2]float64, n)
	for i := range x {
		x[i], one[i], decay[i] = rng.NormFloat64(), rng.NormFloat64(), rng.Float64()
		w[i] = [2]float64{rng.NormFloat64(), rng.NormFloat64()}
	}
	want := func(i int, weight func(k int) float64) float64 {
		s := 0.0
		for k, v := range x {
			s += v * weight(k) * combin.GeneralizedBinomial(float64(n-1-k+i), float64(i))
		}
		return s
	}
	var four, re, im, mixed, long [8]float64
	sums4(&four, x, w)
	sums8(&re, x, w, 0)
	sums8(&im, x, w, 1)
	mixed4(&mixed, x, one, x, decay)
	mixed8(&long, x, one, decay)
	for i := range 8 {
		p := want(i, func(k int) float64 { return w[k][0] })
		q := want(i, func(k int) float64 { return w[k][1] })
		m := want(i, func(k int) float64 { return one[k] * decay[k] })
		checks := [][2]float64{{re[i], p}, {im[i], q}, {long[i], m}}
		if i < 4 {
			checks = append(checks, [2]float64{four[i], p}, [2]float64{four[4+i], q}, [2]float64{mixed[i], m},
				[2]float64{mixed[4+i], want(i, func(k int) float64 { return x[k] * decay[k] })})
		}
		for j, c := range checks {
			if math.Abs(c[0]-c[1]) > 1e-9*(1+math.Abs(c[1])) {
				t.Errorf("section %d, check %d: got %v, want %v", i, j, c[0], c[1])
			}
		}
	}
	a, b := dot(x, w)
	c, d := pair(x, one, decay)
	var e, f, g, h float64
	for k, v := range x {
		e, f, g, h = e+v*w[k][0], f+v*w[k][1], g+v*one[k], h+v*decay[k]
	}
	if cmplx.Abs(complex(a-e, b-f))+cmplx.Abs(complex(c-g, d-h)) > 1e-12 {
		t.Error("plain sums differ")
	}
}

// Blocks do to the sections what the sections do frame by frame, whatever the number of
// poles, the interval and the time constant.
func TestBlocksAreTheCascade(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, MostPoles).Draw(t, "poles")
		every := rapid.IntRange(1, 700).Draw(t, "every")
		p := NewPoles(n, rapid.SampledFrom([]float64{0.3, 3, 100, 5000, 1e6}).Draw(t, "tau"))
		tones := Tones{phase.StepOf(1000, 48000), phase.StepOf(1234.567, 48000)}
		blocks, mixed := NewToneBlocks(p, tones, 1, every), NewMixedBlocks(p, 2, 1, every)
		frames := NewCascade(p, nil, 2, 1, every)
		osc := []*Oscillator{NewOscillator(tones[0]), NewOscillator(tones[1])}
		rng := rand.New(rand.NewPCG(3, 4))
		for frame, blocksLeft := int64(0), 0; blocksLeft < 12; blocksLeft++ {
			k := blocks.Room(frame)
			b := Block{X: [][]float64{make([]float64, k)}, End: frame + int64(k)}
			for i := range k {
				b.X[0][i] = rng.NormFloat64()
			}
			for r := range 2 {
				m := Mixer{make([]float64, k), make([]float64, k)}
				osc[r].Fill(m, frame)
				b.W = append(b.W, m)
			}
			var outs [3][]complex128
			for i, f := range []Filter{blocks, mixed, frames} {
				b.Out = make([]complex128, 2)
				f.Run(b)
				outs[i] = b.Out
			}
			frame += int64(k)
			for i := range 2 {
				for _, o := range outs[:2] {
					if d := cmplx.Abs(o[i] - outs[2][i]); d > 1e-11 {
						t.Fatalf("frame %d: blocks %v, frame by frame %v", frame, o[i], outs[2][i])
					}
				}
			}
		}
	})
}

// The sliding mean is the mean of the last n, whatever came before.
func TestSlidingMean(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 9).Draw(t, "n")
		x := rapid.SliceOfN(rapid.Float64Range(-1, 1), 1, 40).Draw(t, "x")
		m := slidingMean{ring: make([]complex128, n)}
		for i, v := range x {
			want := complex128(0)
			for j := max(0, i-n+1); j <= i; j++ {
				want += complex(x[j], -2*x[j])
			}
			want /= complex(float64(n), 0)
			if got := m.step(complex(v, -2*v)); cmplx.Abs(got-want) > 1e-14 {
				t.Fatalf("value %d: got %v, want %v", i, got, want)
			}
		}
	})
}

// I0(1) = 1.26606 58778, I0(5) = 27.23987 1823 (M. Abramowitz, I. Stegun, Handbook of
// Mathematical Functions, table 9.8, there times exp(−x)).
func TestBesselI0(t *testing.T) {
	for x, want := range map[float64]float64{0: 1, 1: 1.2660658778, 5: 27.239871823} {
		if got := besselI0(x); math.Abs(got/want-1) > 1e-9 {
			t.Errorf("I0(%g) = %.12g, want %.12g", x, got, want)
		}
	}
}

// What the design promises for edges nobody tuned it to.
func TestDesignMeetsItsEdges(t *testing.T) {
	for _, c := range []struct{ pass, stop, db float64 }{
		{0.0004, 0.0017, 80}, {0.02, 0.03, 60}, {0.001, 0.0011, 100}, {0.2, 0.5, 80}, {0.1, 0.15, 20}, {0.0001, 0.0005, 160},
	} {
		every := FIREvery(c.pass, c.stop, c.db)
		f, ok := NewFIR(c.pass, c.stop, c.db, every)
		if !ok {
			t.Errorf("%+v: no design", c)
			continue
		}
		if f.First*f.Second != every || float64(every)*(c.pass+c.stop) > 1+1e-9 {
			t.Errorf("%+v: every %d = %d × %d", c, every, f.First, f.Second)
		}
		limit := math.Pow(10, -c.db/20)
		for i := range 400 {
			if r := math.Abs(cmplx.Abs(f.At(c.pass*float64(i)/400)) - 1); r > 4*limit {
				t.Errorf("%+v: ripple %.2g in the passband", c, r)
				break
			}
			if r := cmplx.Abs(f.At(c.stop + (0.5-c.stop)*float64(i)/400)); r > 1.3*limit {
				t.Errorf("%+v: %.1f dB in the stopband", c, 20*math.Log10(r))
				break
			}
		}
	}
}
