package lockin

import (
	"math"
	"math/cmplx"
	"slices"
	"testing"
)

// A tone with a gap in the stream, told of by Skip: its phase is kept. What the gap
// disturbs is the image, whose own phase jumps.
func TestSkipKeepsThePhase(t *testing.T) {
	for name, cfg := range everyKind() {
		cfg.RateHz, cfg.Channels = 48000, 2
		if cfg.Every > 100 {
			cfg.Filter.TauS = 0.005
		}
		for _, lost := range []int64{1, 481, 4799} {
			const before, after = 40_001, 30_000
			x := testSignal(before+4799+after, 0)
			own := ownReference(len(x[0]))
			d := mustNew[float64](t, cfg)
			var ref, rest []complex128
			if cfg.External {
				ref, rest = own[:before], own[before+lost:]
			}
			clean := run(t, d, [][]float64{x[0][:before], x[1][:before]}, ref, fixed(999), false)
			d.Skip(lost)
			r := run(t, d, [][]float64{x[0][before+lost:], x[1][before+lost:]}, rest, fixed(999), false)
			if d.Frames() != int64(len(x[0])) {
				t.Errorf("%s: %d frames counted, want %d", name, d.Frames(), len(x[0]))
			}
			if r.Marks[0].Flags&Lost == 0 || r.Marks[0].Flags&Settled != 0 || r.Marks[1].Flags&Lost != 0 {
				t.Errorf("%s: flags after the gap %v, %v", name, r.Marks[0].Flags, r.Marks[1].Flags)
			}
			if len(clean.Marks) == 0 {
				continue
			}
			want := clean.At(len(clean.Marks) - 1)[0]
			if cfg.locks() {
				want = cmplx.Rect(0.3, 1.1)
			}
			worst := 0.0
			for i := range r.Marks {
				worst = math.Max(worst, cmplx.Abs(r.At(i)[0]-want))
			}
			// An ignored gap of 481 frames would turn the phasor by a quarter of a cycle for good.
			tol := 3e-2
			if cfg.Filter.PassHz == 1000 || cfg.Filter.dumps() || cfg.Filter.Cycles > 0 || cfg.Filter.Poles == 1 {
				tol = 0.12 // the second harmonic is in the passband, or the average no whole cycles
			}
			if worst > tol {
				t.Errorf("%s: %d frames lost: off by %.2g at most, want %g", name, lost, worst, tol)
			}
		}
	}
}

// Frames that are not finite are lost ones.
func TestNaNIsSkipOfOne(t *testing.T) {
	const frames = 20_000
	bad := []int{0, 1, 479, 480, 7777, 7778, 7780, 15_000}
	for name, cfg := range everyKind() {
		cfg.RateHz, cfg.Channels = 48000, 2
		x := testSignal(frames, 0.01)
		var ref []complex128
		if cfg.External {
			ref = ownReference(frames)
		}
		skipped := mustNew[float64](t, cfg)
		var want Result
		at := 0
		feed := func(end int) {
			if cfg.External {
				skipped.ProcessWith(&want, Planar(x[0][at:end], x[1][at:end]), ref[at:end])
			} else {
				skipped.Process(&want, Planar(x[0][at:end], x[1][at:end]))
			}
			at = end
		}
		for _, b := range bad {
			feed(b)
			skipped.Skip(1)
			at = b + 1
		}
		feed(frames)
		for i, b := range bad {
			x[i%2][b] = []float64{math.NaN(), math.Inf(1), math.Inf(-1)}[i%3]
		}
		for _, size := range []int{1, 100, 1 << 30} {
			got := run(t, mustNew[float64](t, cfg), x, ref, fixed(size), size == 100)
			if !slices.Equal(got.Phasors, want.Phasors) || !sameMarks(got.Marks, want.Marks) {
				t.Errorf("%s, blocks of %d: differs from skipping the frames", name, size)
			}
		}
		for i := range want.Phasors {
			if cmplx.IsNaN(want.Phasors[i]) || cmplx.IsInf(want.Phasors[i]) {
				t.Fatalf("%s: output %d is %v", name, i, want.Phasors[i])
			}
		}
	}
	// A reference of the caller's that is not finite, likewise.
	x, ref := testSignal(frames, 0.01), ownReference(frames)
	cfg := Config{RateHz: 48000, Channels: 2, External: true, Every: 480}
	y := [][]float64{slices.Clone(x[0]), x[1]}
	y[0][5000] = math.NaN()
	want := run(t, mustNew[float64](t, cfg), y, ref, fixed(777), false)
	ref[5000] = complex(0, math.Inf(1))
	got := run(t, mustNew[float64](t, cfg), x, ref, fixed(777), false)
	if !slices.Equal(got.Phasors, want.Phasors) {
		t.Error("a reference that is not finite differs from a sample that is not")
	}
}

func TestSkipAddsUp(t *testing.T) {
	x := testSignal(9000, 0.01)
	for name, cfg := range everyKind() {
		cfg.RateHz, cfg.Channels = 48000, 2
		var ref []complex128
		if cfg.External {
			ref = ownReference(9000)
		}
		once, often := mustNew[float64](t, cfg), mustNew[float64](t, cfg)
		for _, d := range []*Demodulator[float64]{once, often} {
			run(t, d, x, ref, fixed(100), false)
		}
		once.Skip(1_000_000_000_000)
		for range 1000 {
			often.Skip(1_000_000_000)
		}
		a := run(t, once, x, ref, fixed(1000), false)
		b := run(t, often, x, ref, fixed(100), false)
		if !slices.Equal(a.Phasors, b.Phasors) || !sameMarks(a.Marks, b.Marks) {
			t.Errorf("%s: Skip(1e12) is not 1000 times Skip(1e9)", name)
		}
	}
}

// After 1e12 frames the phase is exact: 1000.5 Hz at 48 kHz for 8 months.
func TestPhaseAfterManyFrames(t *testing.T) {
	const lost = 1_000_000_000_000
	d := mustNew[float64](t, Config{RateHz: 48000, TonesHz: []float64{1000.5}, Filter: Filter{PassHz: 20, StopHz: 80}})
	d.Skip(lost)
	x := make([]float64, 9600)
	for i := range x {
		n := (int64(i) + lost) % 96_000 // 1000.5/48000 = 2001/96000
		x[i] = math.Cos(2*math.Pi*float64(n*2001%96_000)/96_000 + 0.5)
	}
	var r Result
	d.Process(&r, Planar(x))
	got := r.At(len(r.Marks) - 1)[0]
	if e := cmplx.Abs(got - cmplx.Rect(1, 0.5)); e > 1e-9 || r.Marks[0].Frame <= lost {
		t.Errorf("got %v at frame %d, off by %.2g", got, r.Marks[0].Frame, e)
	}
}

func TestResetEqualsNew(t *testing.T) {
	x := testSignal(7000, 0.01)
	for name, cfg := range everyKind() {
		cfg.RateHz, cfg.Channels = 48000, 2
		var ref []complex128
		if cfg.External {
			ref = ownReference(7000)
		}
		d := mustNew[float64](t, cfg)
		want := run(t, d, x, ref, fixed(100), false)
		d.Skip(12345)
		d.Reset()
		if d.Frames() != 0 {
			t.Errorf("%s: %d frames after Reset", name, d.Frames())
		}
		got := run(t, d, x, ref, fixed(500), false)
		if !slices.Equal(got.Phasors, want.Phasors) || !sameMarks(got.Marks, want.Marks) {
			t.Errorf("%s: Reset differs from new", name)
		}
	}
}

func TestRetuneEqualsNewSkippedThere(t *testing.T) {
	x := testSignal(9000, 0.01)
	for name, cfg := range everyKind() {
		if cfg.TonesHz == nil {
			continue
		}
		cfg.RateHz, cfg.Channels = 48000, 2
		d := mustNew[float64](t, cfg)
		run(t, d, x, nil, fixed(100), false)
		if err := d.Retune(2000, 3000.3); err != nil {
			t.Fatal(err)
		}
		cfg = d.Config()
		fresh := mustNew[float64](t, cfg)
		fresh.Skip(d.Frames())
		got, want := run(t, d, x, nil, fixed(300), false), run(t, fresh, x, nil, fixed(1000), false)
		if !slices.Equal(got.Phasors, want.Phasors) {
			t.Errorf("%s: Retune differs from a new stream that begins there", name)
		}
		for i, m := range got.Marks {
			if w := want.Marks[i]; m.Frame != w.Frame || m.Flags != w.Flags&^Lost || m.FreqHz != 2000 {
				t.Errorf("%s: mark %+v, want %+v", name, m, w)
			}
		}
	}
}
