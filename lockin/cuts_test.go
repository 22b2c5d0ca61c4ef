package lockin

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"slices"
	"testing"
)

func TestCutsChangeNoBit(t *testing.T) {
	if testing.Short() {
		t.Skip("arithmetic of one goroutine; the whole run has it")
	}
	const frames = 9_000
	x := testSignal(frames, 0.01)
	for name, cfg := range everyKind() {
		t.Run(name, func(t *testing.T) {
			cutsChangeNoBit[float64](t, cfg, cast[float64](x, 1))
			cutsChangeNoBit[float32](t, cfg, cast[float32](x, 1))
			cutsChangeNoBit[int16](t, cfg, cast[int16](x, 1<<15))
			cutsChangeNoBit[int32](t, cfg, cast[int32](x, 1<<31))
		})
	}
}

func cutsChangeNoBit[T Sample](t *testing.T, cfg Config, x [][]T) {
	t.Helper()
	cfg.RateHz, cfg.Channels, cfg.Harmonics = 48000, 2, []int{1, 3}
	var ref []complex128
	if cfg.External {
		ref = ownReference(len(x[0]))
	}
	want := run(t, mustNew[T](t, cfg), x, ref, fixed(1<<30), false)
	if len(want.Marks) == 0 {
		t.Fatal("no outputs")
	}
	rng := rand.New(rand.NewPCG(1, 2))
	ragged := func() int { return rng.IntN(1500) }
	for _, size := range []func() int{fixed(1), fixed(7), fixed(64), fixed(4096), ragged} {
		for _, interleaved := range []bool{false, true} {
			got := run(t, mustNew[T](t, cfg), x, ref, size, interleaved)
			if !slices.Equal(got.Phasors, want.Phasors) || !sameMarks(got.Marks, want.Marks) {
				t.Fatalf("%T, blocks of %d, interleaved %v: outputs differ", x[0][0], size(), interleaved)
			}
		}
	}
}

func sameMarks(a, b []Mark) bool {
	return slices.EqualFunc(a, b, func(a, b Mark) bool {
		return a.Frame == b.Frame && a.Flags == b.Flags && math.Float64bits(a.FreqHz) == math.Float64bits(b.FreqHz)
	})
}

// The tones come out with the amplitudes and phases played, whatever the filter.
func TestEveryKindFindsTheTone(t *testing.T) {
	const frames = 60_000
	x, ref := make([][]float64, 2), ownReference(frames)
	for _, v := range ref {
		x[0], x[1] = append(x[0], real(v*cmplx.Rect(0.3, 0.7))), append(x[1], real(v*cmplx.Rect(0.5, -0.4)))
	}
	for name, cfg := range everyKind() {
		cfg.RateHz, cfg.Channels = 48000, 2
		if cfg.Filter == (Filter{}) {
			cfg.Filter.TauS = 0.02
		}
		about, err := cfg.Response(0)
		if err != nil {
			t.Fatal(err)
		}
		d := mustNew[float64](t, cfg)
		var r *Result
		if cfg.External {
			r = run(t, d, x, ref, fixed(1000), false)
		} else {
			r = run(t, d, x, nil, fixed(1000), false)
		}
		last := len(r.Marks) - 1
		if !r.Marks[last].OK() {
			t.Errorf("%s: last output is %v", name, r.Marks[last].Flags)
		}
		tol := 1e-5 + 2*cmplx.Abs(about.At(2000))
		got := r.At(last)
		if d := cmplx.Abs(got[0]/got[len(got)/2] - cmplx.Rect(0.3/0.5, 1.1)); d > tol {
			t.Errorf("%s: ratio of the channels off by %.2g, want %.2g", name, d, tol)
		}
		if d := cmplx.Abs(got[0] - cmplx.Rect(0.3, 0.7)); d > tol && !cfg.locks() {
			t.Errorf("%s: phasor off by %.2g, want %.2g", name, d, tol)
		}
	}
}
