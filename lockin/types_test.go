package lockin

import (
	"math/cmplx"
	"testing"
)

// The same sound in every sample type: alike to what rounding to the type leaves, and
// with the same marks.
func TestTypesAgreeToQuantisation(t *testing.T) {
	x := testSignal(12_000, 0.01)
	for name, cfg := range everyKind() {
		cfg.RateHz, cfg.Channels = 48000, 2
		var ref []complex128
		if cfg.External {
			ref = ownReference(len(x[0]))
		}
		want := run(t, mustNew[float64](t, cfg), x, ref, fixed(700), false)
		agree(t, name+" float32", want, run(t, mustNew[float32](t, cfg), cast[float32](x, 1), ref, fixed(700), true), 1e-7)
		agree(t, name+" int32", want, run(t, mustNew[int32](t, cfg), cast[int32](x, 1<<31), ref, fixed(700), true), 1e-9)
		// Rounding to 2⁻¹⁵ is noise of 2⁻¹⁵/√12 a sample; 2 of a million sums reach 6 of it.
		agree(t, name+" int16", want, run(t, mustNew[int16](t, cfg), cast[int16](x, 1<<15), ref, fixed(700), true), 6e-5)
	}
}

func agree(t *testing.T, name string, want, got *Result, tol float64) {
	t.Helper()
	for i := range want.Phasors {
		if d := cmplx.Abs(got.Phasors[i] - want.Phasors[i]); d > tol {
			t.Errorf("%s: phasor %d off by %.2g, want %.2g", name, i, d, tol)
			return
		}
	}
	for i, m := range want.Marks {
		if got.Marks[i].Frame != m.Frame {
			t.Errorf("%s: mark %d differs", name, i)
		}
	}
}

type pcm24 int32

// FullScale says what a sample of 1 is; types made of the basic ones are taken.
func TestFullScale(t *testing.T) {
	cfg := Config{RateHz: 48000, TonesHz: []float64{1000}, FullScale: 1 << 23, Filter: Filter{Cycles: 10}}
	x := make([]pcm24, 480)
	for i, v := range ownReference(480) {
		x[i] = pcm24(real(v) * (1 << 22))
	}
	var r Result
	mustNew[pcm24](t, cfg).Process(&r, Planar(x))
	if d := cmplx.Abs(r.Phasors[0] - 0.5); d > 1e-6 {
		t.Errorf("got %v, want 0.5", r.Phasors[0])
	}
	if fullScale[pcm24]() != 1<<31 {
		t.Error("the type's own full scale is that of what it is made of")
	}
}

func TestWarmStreamsDoNotAllocate(t *testing.T) {
	x := testSignal(4000, 0.01)
	ints := cast[int16](x, 1<<15)
	flat := make([]int16, 0, 8000)
	for i := range ints[0] {
		flat = append(flat, ints[0][i], ints[1][i])
	}
	ref := ownReference(4000)
	for name, cfg := range everyKind() {
		cfg.RateHz, cfg.Channels = 48000, 2
		a, b := mustNew[float64](t, cfg), mustNew[int16](t, cfg)
		var r Result
		block := func() {
			r.Clear()
			for at := 0; at < 4000; at += 1000 {
				if cfg.External {
					a.ProcessWith(&r, Planar(x[0][at:at+1000], x[1][at:at+1000]), ref[at:at+1000])
					b.ProcessWith(&r, Interleaved(flat[2*at:2*at+2000], 2), ref[at:at+1000])
				} else {
					a.Process(&r, Planar(x[0][at:at+1000], x[1][at:at+1000]))
					b.Process(&r, Interleaved(flat[2*at:2*at+2000], 2))
				}
			}
			a.Skip(3)
		}
		block()
		block()
		if n := testing.AllocsPerRun(20, block); n != 0 {
			t.Errorf("%s: %g allocations in eight blocks, want none", name, n)
		}
	}
}

// With 1 kHz in whole cycles, a tone is exact to rounding.
func TestExactToRounding(t *testing.T) {
	const frames = 48_000
	x := make([]float64, frames)
	for i, v := range ownReference(frames) {
		x[i] = real(v * cmplx.Rect(0.8, 0.3))
	}
	for name, f := range map[string]Filter{
		"dump": {Cycles: 100}, "narrow": {PassHz: 20, StopHz: 80, StopDB: 160}, "eight poles": {TauS: 0.006, Poles: 8},
	} {
		r := run(t, mustNew[float64](t, Config{RateHz: 48000, TonesHz: []float64{1000}, Filter: f}), [][]float64{x}, nil, fixed(4800), false)
		if d := cmplx.Abs(r.Phasors[len(r.Phasors)-1] - cmplx.Rect(0.8, 0.3)); d > 1e-12 {
			t.Errorf("%s: off by %.2g, want 1e-12", name, d)
		}
	}
}
