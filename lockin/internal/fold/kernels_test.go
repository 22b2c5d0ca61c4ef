package fold

import (
	"example.org/wheatear/lockin/internal/phase"
	"example.org/wheatear/lockin/internal/testkit"
	"math"
	"math/cmplx"
	"testing"
)

// phasorTol is what ten million frames may lose: each of the few thousand
// additions into one accumulator rounds by 1e-16 of a sum that grows to 1e-3 of
// N, and a few hundred accumulators average the rest; 1e-15 is usual.
const phasorTol = 1e-13

func TestKernelsAreExactOverTenMillionFrames(t *testing.T) {
	testkit.NotShort(t)
	const n = 10_000_000
	x := testkit.RoughSignal(n, 1000.0/48000, 0.7, 0.4, 3)
	short := make([]float32, n/4)
	for i := range short {
		short[i] = float32(x[i])
	}
	for _, c := range []struct {
		name   string
		freqHz float64
		direct func() (want, want32 complex128)
	}{
		{"short grid 48", 1000, func() (complex128, complex128) {
			return testkit.GridCorrelate(x, 1, 48), testkit.GridCorrelate(short, 1, 48)
		}},
		{"prime grid 4799", 103 * 48000.0 / 4799, func() (complex128, complex128) {
			return testkit.GridCorrelate(x, 103, 4799), testkit.GridCorrelate(short, 103, 4799)
		}},
		{"off grid", 1000.1234567, func() (complex128, complex128) {
			return testkit.DirectCorrelate(x, 1000.1234567, 48000), testkit.DirectCorrelate(short, 1000.1234567, 48000)
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			want, want32 := c.direct()
			checkPhasor(t, x, c.freqHz, want)
			checkPhasor(t, short, c.freqHz, want32)
		})
	}
}

func checkPhasor[T Sample](t *testing.T, x []T, freqHz float64, want complex128) {
	t.Helper()
	got, err := Correlate(nil, x, []float64{freqHz}, 48000)
	if err != nil {
		t.Fatal(err)
	}
	scale := complex(2/float64(len(x)), 0)
	if d := cmplx.Abs(scale * (got[0] - want)); d > phasorTol {
		t.Errorf("%T, %g Hz, %d frames: phasor off by %.2g, want within %g", x, freqHz, len(x), d, phasorTol)
	}
}

// Every length around the seams of the kernels, against the direct sum.
func TestCorrelateAnyLength(t *testing.T) {
	x := testkit.RoughSignal(70_000, 0.02, 0.5, -1, 5)
	freqs := []float64{1000, 0, 24000, 103 * 48000.0 / 4799, 777.77, 50.003, 1500, 2500, 3500, 4050}
	for _, n := range []int{0, 1, 2, 47, 48, 95, 96, 240, 255, 256, 257, 959, 960, 961, 1023, 1024, 1025, 4096, 9598, 65535, 65536, 65537, 70_000} {
		got, err := Correlate(nil, x[:n], freqs, 48000)
		if err != nil {
			t.Fatal(err)
		}
		for i, f := range freqs {
			want := complex128(0)
			if k, p, ok := phase.Grid(f, 48000); ok {
				want = testkit.GridCorrelate(x[:n], uint64(k), uint64(p))
			} else {
				want = testkit.DirectCorrelate(x[:n], f, 48000)
			}
			// A sum of n terms of size one, in doubles.
			if d := cmplx.Abs(got[i] - want); d > 1e-14*float64(n)+1e-15 {
				t.Errorf("n = %d, %g Hz: got %v, want %v, off by %.2g", n, f, got[i], want, d)
			}
		}
	}
}

func TestCorrelatorBlockSizes(t *testing.T) {
	x := testkit.RoughSignal(50_000, 0.02, 0.5, -1, 7)
	freqs := []float64{1000, 103 * 48000.0 / 4799, 777.77, 50.003, 24000, 100, 200, 300, 400, 500, 600}
	want, err := Correlate(nil, x, freqs, 48000)
	if err != nil {
		t.Fatal(err)
	}
	c, err := NewCorrelator[float64](freqs, 48000)
	if err != nil {
		t.Fatal(err)
	}
	for name, size := range testkit.Blockings() {
		c.Reset()
		feed(x, size, c.Add)
		if c.Frames() != int64(len(x)) {
			t.Errorf("%s: %d frames counted, want %d", name, c.Frames(), len(x))
		}
		for i, s := range c.Sums(nil) {
			if d := cmplx.Abs(s - want[i]); d > 1e-12*float64(len(x)) {
				t.Errorf("blocks of %s, %g Hz: off by %.2g", name, freqs[i], d)
			}
		}
	}
}

func feed[T any](x []T, size func() int, add func([]T)) {
	for len(x) > 0 {
		n := min(size(), len(x))
		add(x[:n])
		x = x[n:]
	}
}

func TestCorrelatorDoesNotAllocate(t *testing.T) {
	c, err := NewCorrelator[float64]([]float64{1000, 1000.001, 1234.5, 100, 200, 300, 400, 500, 600}, 48000)
	if err != nil {
		t.Fatal(err)
	}
	x, dst := testkit.RoughSignal(5000, 0.02, 0.5, -1, 7), make([]complex128, 9)
	if n := testing.AllocsPerRun(20, func() { c.Add(x); dst = c.Sums(dst) }); n != 0 {
		t.Errorf("Add and Sums allocate %g times a block, want 0", n)
	}
}

func TestCorrelateRefuses(t *testing.T) {
	for _, c := range []struct{ freq, rate float64 }{
		{math.NaN(), 48000}, {math.Inf(1), 48000}, {1000, 0}, {1000, -1}, {1000, math.NaN()}, {1000, math.Inf(1)},
	} {
		if _, err := Correlate(nil, []float64{1}, []float64{c.freq}, c.rate); err == nil {
			t.Errorf("%g Hz at %g Hz: no error", c.freq, c.rate)
		}
	}
}

// A negative frequency gives the conjugate, and one above the rate aliases.
func TestCorrelateFrequencyLaws(t *testing.T) {
	x := testkit.RoughSignal(10_000, 0.02, 0.5, -1, 9)
	for _, f := range []float64{1000, 777.77} {
		s, err := Correlate(nil, x, []float64{f, -f, 48000 - f, 48000 + f}, 48000)
		if err != nil {
			t.Fatal(err)
		}
		want := []complex128{s[0], cmplx.Conj(s[0]), cmplx.Conj(s[0]), s[0]}
		for i := range s {
			// 48000 ± 777.77 is rounded to 4e-12 Hz: 5e-6 of a turn it is not.
			if cmplx.Abs(s[i]-want[i]) > 1e-9*cmplx.Abs(s[0])+1e-6 {
				t.Errorf("%g Hz, case %d: got %v, want %v", f, i, s[i], want[i])
			}
		}
	}
}
