package fold

import (
	"math"
	"math/cmplx"
	"testing"

	"example.org/wheatear/lockin/internal/phase"
	"example.org/wheatear/lockin/internal/testkit"
	"pgregory.net/rapid"
)

// The fold holds, at each place, the sum of the samples that fall there.
func TestFolder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		period := rapid.IntRange(1, 700).Draw(t, "period")
		n := rapid.IntRange(0, 6000).Draw(t, "n")
		x := testkit.RoughSignal(n, 0.02, 0.5, 1, 17)
		f := NewFolder[float64](period)
		if len(f.Acc)%period != 0 || len(f.Acc) < minFold {
			t.Fatalf("period %d folds on %d", period, len(f.Acc))
		}
		cuts := rapid.SliceOfN(rapid.IntRange(0, 3000), 0, 4).Draw(t, "cuts")
		rest := x
		for _, c := range cuts {
			c = min(c, len(rest))
			f.Add(rest[:c])
			rest = rest[c:]
		}
		f.Add(rest)
		want := make([]float64, len(f.Acc))
		for i, v := range x {
			want[i%len(want)] += v
		}
		for i := range want {
			if math.Abs(f.Acc[i]-want[i]) > 1e-12 {
				t.Fatalf("place %d: got %g, want %g", i, f.Acc[i], want[i])
			}
		}
		if f.pos != n%len(f.Acc) {
			t.Fatalf("next place %d, want %d", f.pos, n%len(f.Acc))
		}
	})
}

// Samples of either type, cut anywhere, give the direct sum.
func TestRotator(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := rapid.SampledFrom([]float64{777.77, 50.003, 1234.5678, 4000.1}).Draw(t, "f")
		n := rapid.IntRange(0, 5000).Draw(t, "n")
		cut := rapid.IntRange(0, n).Draw(t, "cut")
		x := testkit.RoughSignal(n, 0.02, 0.5, 1, 18)
		short := make([]float32, n)
		for i := range short {
			short[i] = float32(x[i])
		}
		wide, narrow := NewRotator[float64](phase.TurnsOf(f, 48000)), NewRotator[float32](phase.TurnsOf(f, 48000))
		wide.Add(x[:cut])
		wide.Add(x[cut:])
		narrow.Add(short[:cut])
		narrow.Add(short[cut:])
		tol := 1e-14*float64(n) + 1e-15
		if d := cmplx.Abs(wide.Sum() - testkit.DirectCorrelate(x, f, 48000)); d > tol {
			t.Fatalf("float64: off by %.2g", d)
		}
		if d := cmplx.Abs(narrow.Sum() - testkit.DirectCorrelate(short, f, 48000)); d > tol {
			t.Fatalf("float32: off by %.2g", d)
		}
	})
}

// A sum begun anew runs on at the right phase.
func TestRotatorClearSums(t *testing.T) {
	x := testkit.RoughSignal(5000, 0.02, 0.5, 1, 19)
	r := NewRotator[float64](phase.TurnsOf(777.77, 48000))
	r.Add(x[:2111])
	first := r.Sum()
	r.ClearSums()
	r.Add(x[2111:])
	if d := cmplx.Abs(first + r.Sum() - testkit.DirectCorrelate(x, 777.77, 48000)); d > 1e-10 {
		t.Errorf("two parts are off the whole by %.2g", d)
	}
	r.Reset()
	r.Add(x)
	if d := cmplx.Abs(r.Sum() - testkit.DirectCorrelate(x, 777.77, 48000)); d > 1e-10 {
		t.Errorf("after a reset: off by %.2g", d)
	}
}

// Far into a stream the phase is as exact as at its start.
func TestRotatorLateInStream(t *testing.T) {
	const late = 1 << 40 // two months at 192 kHz
	step := phase.TurnsOf(777.77, 192000)
	r := NewRotator[float64](step)
	r.frames = late
	x := testkit.RoughSignal(4096, 0.004, 0.5, 1, 20)
	r.Add(x)
	want := complex128(0)
	for i, v := range x {
		want += complex(v, 0) * step.Times(uint64(late+i)).Neg().Phasor()
	}
	if d := cmplx.Abs(r.Sum() - want); d > 1e-11 {
		t.Errorf("off by %.2g", d)
	}
}
