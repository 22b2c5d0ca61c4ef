package lockin

import (
	"math"
	"math/cmplx"
	"testing"

	"pgregory.net/rapid"
)

// The fold holds, at each place, the sum of the samples that fall there.
func TestFolder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		period := rapid.IntRange(1, 700).Draw(t, "period")
		n := rapid.IntRange(0, 6000).Draw(t, "n")
		x := roughSignal(n, 0.02, 0.5, 1, 17)
		f := newFolder[float64](period)
		if len(f.acc)%period != 0 || len(f.acc) < minFold {
			t.Fatalf("period %d folds on %d", period, len(f.acc))
		}
		cuts := rapid.SliceOfN(rapid.IntRange(0, 3000), 0, 4).Draw(t, "cuts")
		rest := x
		for _, c := range cuts {
			c = min(c, len(rest))
			f.add(rest[:c])
			rest = rest[c:]
		}
		f.add(rest)
		want := make([]float64, len(f.acc))
		for i, v := range x {
			want[i%len(want)] += v
		}
		for i := range want {
			if math.Abs(f.acc[i]-want[i]) > 1e-12 {
				t.Fatalf("place %d: got %g, want %g", i, f.acc[i], want[i])
			}
		}
		if f.pos != n%len(f.acc) {
			t.Fatalf("next place %d, want %d", f.pos, n%len(f.acc))
		}
	})
}

// Samples of either type, cut anywhere, give the direct sum.
func TestRotator(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := rapid.SampledFrom([]float64{777.77, 50.003, 1234.5678, 4000.1}).Draw(t, "f")
		n := rapid.IntRange(0, 5000).Draw(t, "n")
		cut := rapid.IntRange(0, n).Draw(t, "cut")
		x := roughSignal(n, 0.02, 0.5, 1, 18)
		short := make([]float32, n)
		for i := range short {
			short[i] = float32(x[i])
		}
		wide, narrow := newRotator[float64](turnsOf(f, 48000)), newRotator[float32](turnsOf(f, 48000))
		wide.add(x[:cut])
		wide.add(x[cut:])
		narrow.add(short[:cut])
		narrow.add(short[cut:])
		tol := 1e-14*float64(n) + 1e-15
		if d := cmplx.Abs(wide.sum() - directCorrelate(x, f, 48000)); d > tol {
			t.Fatalf("float64: off by %.2g", d)
		}
		if d := cmplx.Abs(narrow.sum() - directCorrelate(short, f, 48000)); d > tol {
			t.Fatalf("float32: off by %.2g", d)
		}
	})
}

// A sum begun anew runs on at the right phase.
func TestRotatorClearSums(t *testing.T) {
	x := roughSignal(5000, 0.02, 0.5, 1, 19)
	r := newRotator[float64](turnsOf(777.77, 48000))
	r.add(x[:2111])
	first := r.sum()
	r.clearSums()
	r.add(x[2111:])
	if d := cmplx.Abs(first + r.sum() - directCorrelate(x, 777.77, 48000)); d > 1e-10 {
		t.Errorf("two parts are off the whole by %.2g", d)
	}
	r.reset()
	r.add(x)
	if d := cmplx.Abs(r.sum() - directCorrelate(x, 777.77, 48000)); d > 1e-10 {
		t.Errorf("after a reset: off by %.2g", d)
	}
}

// Far into a stream the phase is as exact as at its start.
func TestRotatorLateInStream(t *testing.T) {
	const late = 1 << 40 // two months at 192 kHz
	step := turnsOf(777.77, 192000)
	r := newRotator[float64](step)
	r.frames = late
	x := roughSignal(4096, 0.004, 0.5, 1, 20)
	r.add(x)
	want := complex128(0)
	for i, v := range x {
		want += complex(v, 0) * step.times(uint64(late+i)).neg().phasor()
	}
	if d := cmplx.Abs(r.sum() - want); d > 1e-11 {
		t.Errorf("off by %.2g", d)
	}
}

func TestGcdLcm(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := rapid.IntRange(1, 10_000).Draw(t, "a"), rapid.IntRange(1, 10_000).Draw(t, "b")
		g, l := gcd(a, b), lcm(a, b)
		if a%g != 0 || b%g != 0 || l%a != 0 || l%b != 0 || g*l != a*b {
			t.Fatalf("gcd(%d, %d) = %d, lcm %d", a, b, g, l)
		}
	})
}
