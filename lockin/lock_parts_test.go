package lockin

import (
	"math"
	"math/cmplx"
	"testing"

	"example.org/wheatear/lockin/internal/phase"
	"example.org/wheatear/lockin/internal/testkit"
	"pgregory.net/rapid"
)

// tickOf runs one tick of a tone, an offset and nothing else through the sums.
func tickOf(n int, step, phase, offset float64, z complex128) tickSums {
	var s tickSums
	for i := range n {
		w := cmplx.Rect(1, 2*math.Pi*(step*float64(i)+phase))
		v := offset + real(z*w)
		s.value += v
		s.turned += complex(v, 0) * cmplx.Conj(w)
		s.once += cmplx.Conj(w)
		s.twice += cmplx.Conj(w) * cmplx.Conj(w)
	}
	return s
}

// Over whole cycles the phasor of a tick is exact, offset or not.
func TestTickOfWholeCycle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(4, 500).Draw(t, "n")
		z := cmplx.Rect(rapid.Float64Range(0.1, 1).Draw(t, "a"), rapid.Float64Range(-3, 3).Draw(t, "phase"))
		s := tickOf(n, 1/float64(n), rapid.Float64Range(0, 1).Draw(t, "start"), rapid.Float64Range(-1, 1).Draw(t, "offset"), z)
		if d := cmplx.Abs(s.phasor(n) - z); d > 1e-12 {
			t.Fatalf("off by %g", d)
		}
	})
}

// Over a little more or less than a cycle the mirror image still goes exactly, and
// the offset to second order of what is missing.
func TestTickOfNearlyACycle(t *testing.T) {
	z := cmplx.Rect(0.5, 0.7)
	for _, off := range []float64{-0.02, 0.003, 0.02} {
		if d := cmplx.Abs(tickOf(48, (1+off)/48, 0.3, 0, z).phasor(48) - z); d > 2*off*off {
			t.Errorf("%g of a cycle over: off by %.2g", off, d)
		}
		if d := cmplx.Abs(tickOf(48, (1+off)/48, 0.3, 0.2, z).phasor(48) - z); d > 8*off*off+1e-12 {
			t.Errorf("%g of a cycle over, with an offset: off by %.2g", off, d)
		}
	}
}

func TestTurnsNear(t *testing.T) {
	for _, c := range []float64{0, 0.25, -0.25, 1e-20, -1e-20, 3.125, -3.125} {
		if got := phase.TurnsNear(c).Of(); math.Abs(math.Remainder(got-c, 1)) > 1e-16*math.Abs(c) {
			t.Errorf("turnsNear(%g) = %g", c, got)
		}
	}
	if phase.TurnsNear(math.NaN()) != (phase.Turns{}) {
		t.Error("NaN turns the phase")
	}
}

// The loop answers a step of phase like the critically damped loop it is meant to
// be: no more than the one overshoot that its zero makes (e⁻² = 13.5 %), and
// settled after a few of its time constants.
func TestLockStepResponse(t *testing.T) {
	l := newLock(DemodConfig{RateHz: 48000, ReferenceHz: 1000, LoopHz: 10})
	wave := func(n int, phase float64) float64 { return math.Cos(2*math.Pi*1000/48000*float64(n) + phase) }
	n := 0
	for ; n < 48_000; n++ {
		l.next(wave(n, 0))
	}
	lowest, last := 0.0, 0.0
	for start := n; n < start+24_000; n++ {
		if l.next(wave(n, 0.3)) {
			last = math.Remainder(0.3-(2*math.Pi*l.phase.Of()-2*math.Pi*math.Mod(1000.0/48000*float64(n+1), 1)), 2*math.Pi)
			lowest = math.Min(lowest, last)
		}
	}
	if math.Abs(last) > 1e-6 {
		t.Errorf("half a second after the step %.2g rad are left", last)
	}
	if lowest < -0.3*0.16 || lowest > -0.3*0.09 {
		t.Errorf("overshoot of %.1f %%, want about 13.5", -lowest/0.3*100)
	}
}

// A constant offset of frequency leaves no angle: second type.
func TestLockHasNoStandingError(t *testing.T) {
	l := newLock(DemodConfig{RateHz: 48000, ReferenceHz: 1000, LoopHz: 10})
	step := phase.TurnsOf(1003, 48000)
	n := uint64(0)
	for ; n < 96_000; n++ {
		_, c := step.Times(n).Sincos()
		l.next(c)
	}
	// What the offset's share of a tick leaves is of second order in the 3e-3 that
	// the tick is off a cycle, 1e-5 rad, and alternates.
	if d := math.Remainder(l.phase.Of()-step.Times(n).Of(), 1); math.Abs(d) > 1.5e-6 {
		t.Errorf("standing error of %.2g turn", d)
	}
	testkit.CheckRel(t, "frequency", l.freqHz(), 1003, 1e-7)
}
