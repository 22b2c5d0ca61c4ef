package lockin

import (
	"example.org/wheatear/lockin/internal/testkit"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"
)

// lockedResult runs a signal tone of amplitude 0.3, 0.7 rad ahead of the
// reference, through a locked demodulator.
func lockedResult(t *testing.T, actualHz, refAmplitude, refNoise float64, edit func(ref, src []float64)) (*Demodulator, complex128) {
	t.Helper()
	const n = 96000
	rng := rand.New(rand.NewPCG(5, uint64(actualHz*1000)))
	ref, src := testkit.Cosine(n, actualHz, 48000, refAmplitude, 2.5), testkit.Cosine(n, actualHz, 48000, 0.3, 2.5+0.7)
	for i := range ref {
		ref[i] += refNoise * rng.NormFloat64()
	}
	if edit != nil {
		edit(ref, src)
	}
	p, d := mustDemodulator(t, DemodConfig{RateHz: 48000, ReferenceHz: 1000, TimeConstantS: 0.05, Every: n, LoopHz: 5})
	return d, last(p, d, src, ref)[0]
}

func TestLockFollowsReference(t *testing.T) {
	want := cmplx.Rect(0.3, 0.7)
	for _, c := range []struct {
		name          string
		hz, amp, nois float64
		tol           float64
	}{
		{"on frequency", 1000, 0.5, 0, 1e-6},
		{"clock 300 ppm off", 1000.3, 0.5, 0, 1e-6},
		{"one percent off", 1010, 0.5, 0, 1e-6},
		{"far below", 975, 0.5, 0, 1e-5},
		{"faint", 1000.3, 1e-6, 0, 1e-6},
		// Noise of 0.05 against 0.5 in a loop of 5 Hz: phase noise of
		// 2·0.05/0.5·√(ENBW/rate), ENBW about 2π·5·5/4 Hz, gives 6e-3 rad.
		{"noisy", 1000.3, 0.5, 0.05, 0.3 * 4 * 6e-3},
	} {
		d, got := lockedResult(t, c.hz, c.amp, c.nois, nil)
		if !d.Locked() || math.Abs(d.ReferenceHz()-c.hz) > 0.05 {
			t.Errorf("%s: locked %v at %.4f Hz, want %g", c.name, d.Locked(), d.ReferenceHz(), c.hz)
		}
		if cmplx.Abs(got-want) > c.tol {
			t.Errorf("%s: got %v, want %v", c.name, got, want)
		}
	}
}

// A reference distorted and offset still locks to its fundamental.
func TestLockOnDirtyReference(t *testing.T) {
	d, got := lockedResult(t, 1000.3, 0.5, 0, func(ref, _ []float64) {
		addTo(ref, testkit.Cosine(len(ref), 3000.9, 48000, 0.2, 1))
		for i := range ref {
			ref[i] += 0.1
		}
	})
	if !d.Locked() || cmplx.Abs(got-cmplx.Rect(0.3, 0.7)) > 2e-3 {
		t.Errorf("locked %v, got %v", d.Locked(), got)
	}
}

// A gap in the reference is bridged at the last frequency; its end finds the
// phase where it ought to be.
func TestLockHoldsThroughGap(t *testing.T) {
	d, got := lockedResult(t, 1000.3, 0.5, 0, func(ref, _ []float64) { clear(ref[70_000:72_000]) })
	if !d.Locked() || cmplx.Abs(got-cmplx.Rect(0.3, 0.7)) > 1e-4 {
		t.Errorf("locked %v at %.5f Hz, got %v", d.Locked(), d.ReferenceHz(), got)
	}
}

func TestLockSaysSoWhenLost(t *testing.T) {
	noise := func(ref, _ []float64) {
		rng := rand.New(rand.NewPCG(8, 9))
		for i := range ref {
			ref[i] = rng.NormFloat64()
		}
	}
	for name, edit := range map[string]func(ref, src []float64){
		"silence": func(ref, _ []float64) { clear(ref) },
		"noise":   noise,
		"not finite": func(ref, _ []float64) {
			for i := range ref {
				ref[i] = math.NaN()
			}
		},
		"gone": func(ref, _ []float64) { clear(ref[20_000:]) },
	} {
		if d, _ := lockedResult(t, 1000.3, 0.5, 0, edit); d.Locked() {
			t.Errorf("%s: claims to be locked at %g Hz", name, d.ReferenceHz())
		}
	}
	_, d := mustDemodulator(t, DemodConfig{RateHz: 48000, ReferenceHz: 1000})
	if d.Locked() {
		t.Error("locked before the first frame")
	}
}

// Some non-finite samples cost a few ticks, not the lock.
func TestLockSurvivesNotFinite(t *testing.T) {
	d, _ := lockedResult(t, 1000.3, 0.5, 0, func(ref, _ []float64) { ref[50_000], ref[50_100] = math.NaN(), math.Inf(1) })
	if !d.Locked() {
		t.Error("lock lost")
	}
}

// Harmonics are demodulated against the multiple of the reference's phase.
func TestLockedHarmonics(t *testing.T) {
	const n, hz = 96000, 1000.3
	ref := testkit.Cosine(n, hz, 48000, 0.5, 0.4)
	src := addTo(testkit.Cosine(n, hz, 48000, 0.3, 0.4), testkit.Cosine(n, 3*hz, 48000, 0.02, 3*0.4-0.5))
	p, d := mustDemodulator(t, DemodConfig{RateHz: 48000, ReferenceHz: 1000, Harmonics: []int{1, 3}, TimeConstantS: 0.05, Every: n})
	got := last(p, d, src, ref)
	for i, want := range []complex128{0.3, cmplx.Rect(0.02, -0.5)} {
		if cmplx.Abs(got[i]-want) > 1e-6 {
			t.Errorf("harmonic %d: got %v, want %v", 2*i+1, got[i], want)
		}
	}
}

func TestPhasorPower(t *testing.T) {
	w := cmplx.Rect(1, 0.3)
	for n := 1; n < 20; n++ {
		if d := cmplx.Abs(phasorPower(w, n) - cmplx.Rect(1, 0.3*float64(n))); d > 1e-14 {
			t.Errorf("power %d off by %.2g", n, d)
		}
	}
}
