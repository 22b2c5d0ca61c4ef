package lockin

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"
)

// reference is a tone at 48 kHz whose frequency over time is hz, with noise; turns is its
// phase.
func reference(frames int, amplitude, sigma float64, seed uint64, hz func(s float64) float64) (x, turns []float64) {
	rng := rand.New(rand.NewPCG(seed, 31))
	x, turns = make([]float64, frames), make([]float64, frames)
	phase := 0.13
	for i := range x {
		turns[i] = phase
		x[i] = amplitude*math.Cos(2*math.Pi*phase) + sigma*rng.NormFloat64()
		phase = math.Mod(phase+hz(float64(i)/48000)/48000, 1)
	}
	return x, turns
}

func at(hz float64) func(float64) float64 { return func(float64) float64 { return hz } }

// followed locks to x in channel 0 and demodulates in channel 1 a clean tone of the phase
// given: arg of its phasor is the phase the lock errs by.
func followed(t testing.TB, lock Lock, x, turns []float64) *Result {
	t.Helper()
	clean := make([]float64, len(x))
	for i := range clean {
		clean[i] = math.Cos(2 * math.Pi * turns[i])
	}
	d := mustNew[float64](t, Config{RateHz: 48000, Channels: 2, Lock: lock, Every: 48, Filter: Filter{PassHz: 300, StopHz: 1000, StopDB: 120}})
	return run(t, d, [][]float64{x, clean}, nil, fixed(4800), false)
}

// phaseError returns that of an output, in milliradians.
func phaseError(r *Result, i int) float64 { return 1e3 * cmplx.Phase(r.At(i)[1]) }

// output returns the index of the first output at a time.
func output(s float64) int { return int(math.Round(s*1000)) - 1 }

func firstLocked(r *Result) float64 {
	for _, m := range r.Marks {
		if m.Flags&Locked != 0 {
			return float64(m.Frame) / 48000
		}
	}
	return math.Inf(1)
}

// Locks within 6/B where the loop catches the tone by itself, within 8.5/B from anywhere
// in its range.
func TestPullIn(t *testing.T) {
	for _, loop := range []float64{9.8, 20, 78.5, 200} {
		for _, off := range []float64{0, 1, 20, 100, 150, 199, -150, -199} {
			x, turns := reference(int(12/loop*48000), 0.5, 0.05, 3, at(1000+off))
			r := followed(t, Lock{NearHz: 1000, LoopHz: loop}, x, turns)
			limit := 8.5 / loop
			if math.Abs(off) < loop/2 {
				limit = 6.5 / loop
			}
			if s := firstLocked(r); s > limit {
				t.Errorf("loop of %g Hz, %+g Hz off: locked after %.3g s, want %.3g", loop, off, s, limit)
			}
			last := r.Marks[len(r.Marks)-1]
			if math.Abs(last.FreqHz-1000-off) > loop/20 {
				t.Errorf("loop of %g Hz, %+g Hz off: follows %g Hz", loop, off, last.FreqHz)
			}
		}
	}
}

// A frequency that moves evenly leaves no lag: 100 Hz/s within 0.1 mrad in a loop of
// 78.5 Hz, 1000 Hz/s within 1.
func TestRampLeavesNoLag(t *testing.T) {
	for ramp, limit := range map[float64]float64{100: 0.1, 1000: 1} {
		x, turns := reference(48000, 0.5, 0, 3, func(s float64) float64 { return 700 + ramp*max(0, s-0.3) })
		r := followed(t, Lock{NearHz: 1000, LoopHz: 78.5, RangeHz: 450}, x, turns)
		sum, n := 0.0, 0.0
		for i := output(0.6); i < output(0.7); i++ {
			sum, n = sum+phaseError(r, i), n+1
		}
		if lag := sum / n; math.Abs(lag) > limit {
			t.Errorf("%g Hz/s: lags %.3f mrad, want %g", ramp, lag, limit)
		} else {
			t.Logf("%g Hz/s: %.4f mrad", ramp, lag)
		}
	}
}

// After a step of 1 Hz, 1 mrad is reached within 9/B, and it stays locked.
func TestFrequencyStep(t *testing.T) {
	const loop = 78.5
	x, turns := reference(48000, 0.5, 0, 3, func(s float64) float64 {
		if s < 0.4 {
			return 1000
		}
		return 1001
	})
	r := followed(t, Lock{NearHz: 1000, LoopHz: loop}, x, turns)
	settled := 0.0
	for i := output(0.4); i < len(r.Marks); i++ {
		if math.Abs(phaseError(r, i)) > 1 {
			settled = float64(r.Marks[i].Frame)/48000 - 0.4
		}
		if r.Marks[i].Flags&Locked == 0 {
			t.Fatalf("lock lost at %d", r.Marks[i].Frame)
		}
	}
	if settled > 9/loop {
		t.Errorf("1 mrad after %.2f/B, want 9/B", settled*loop)
	}
	t.Logf("1 mrad after %.2f/B", settled*loop)
}

// In white noise the phase jitters by √(4σ²B/rate)/A.
func TestJitterIsThatOfTheNoiseBandwidth(t *testing.T) {
	const loop, sigma, a = 78.5, 0.1, 0.1 * math.Sqrt2 // 0 dB
	x, turns := reference(60*48000, a, sigma, 5, at(1000))
	r := followed(t, Lock{NearHz: 1000, LoopHz: loop}, x, turns)
	sum, n := 0.0, 0.0
	for i := output(1); i < len(r.Marks); i += 7 {
		e := phaseError(r, i)
		sum, n = sum+e*e, n+1
		if r.Marks[i].Flags&Locked == 0 {
			t.Fatalf("lock lost at %d", r.Marks[i].Frame)
		}
	}
	got, want := math.Sqrt(sum/n), 1e3*math.Sqrt(4*sigma*sigma*loop/48000)/a
	if got < 0.9*want || got > 1.15*want {
		t.Errorf("jitter %.1f mrad, want %.1f", got, want)
	}
	t.Logf("jitter %.1f mrad, theory %.1f", got, want)
}

// 14 dB under broadband noise it still locks; that far, the tone is a twenty-fifth of the
// channel's power.
func TestLocksInNoise(t *testing.T) {
	for seed := range uint64(10) {
		x, turns := reference(48000, 0.1*math.Sqrt2*math.Pow(10, -14.0/20), 0.1, seed, at(1003))
		if s := firstLocked(followed(t, Lock{NearHz: 1000}, x, turns)); s > 1 {
			t.Errorf("draw %d: no lock in a second", seed)
		}
	}
}

func never(t *testing.T, name string, r *Result) {
	t.Helper()
	for _, m := range r.Marks {
		if m.Flags&Locked != 0 {
			t.Errorf("%s: claims to be locked at frame %d, to %g Hz", name, m.Frame, m.FreqHz)
			return
		}
	}
}

// Without a tone there is no lock.
func TestNoToneNoLock(t *testing.T) {
	silence := make([]float64, 48000)
	never(t, "silence", followed(t, Lock{NearHz: 1000}, silence, silence))
	offset := make([]float64, 48000)
	for i := range offset {
		offset[i] = 0.5
	}
	never(t, "offset", followed(t, Lock{NearHz: 1000}, offset, silence))
	x, turns := reference(96000, 0, 0.3, 7, at(1000))
	never(t, "noise", followed(t, Lock{NearHz: 1000}, x, turns))
	x, turns = reference(96000, 0.5, 0.01, 7, at(1500))
	never(t, "a tone out of range", followed(t, Lock{NearHz: 1000}, x, turns))
}

// The reference goes, into silence or noise as strong as it was: the lock says so, its
// frequency goes on, and when the reference is back it is found again.
func TestHoldOver(t *testing.T) {
	const loop = 9.8
	for name, gone := range map[string]float64{"silence": 0, "weak noise": 0.05, "noise": 0.354} {
		x, turns := reference(17*48000, 0.5, 0.035, 11, at(1003)) // 20 dB
		rng := rand.New(rand.NewPCG(8, 9))
		from, to := 5*48000, 15*48000
		for i := from; i < to; i++ {
			x[i] = gone * rng.NormFloat64()
		}
		r := followed(t, Lock{NearHz: 1000, LoopHz: loop}, x, turns)
		if !r.Marks[output(4.99)].OK() {
			t.Fatalf("%s: not locked before", name)
		}
		told := 0.0
		for i := output(5); i < output(15); i++ {
			if r.Marks[i].Flags&Held != 0 {
				told = float64(r.Marks[i].Frame)/48000 - 5
				break
			}
		}
		limit := 4 / loop
		if gone < 0.1 {
			limit = 0.006
		}
		if !(told > 0 && told <= limit) {
			t.Errorf("%s: told after %.4f s, want %.3f", name, told, limit)
		}
		for _, c := range []struct{ s, mrad float64 }{{1, 60}, {9.9, 500}} {
			i := output(5 + c.s)
			if e := math.Abs(phaseError(r, i)); e > c.mrad || r.Marks[i].OK() {
				t.Errorf("%s: %.0f mrad off after %g s (%v), want %g", name, e, c.s, r.Marks[i].Flags, c.mrad)
			} else {
				t.Logf("%s: %.0f mrad off after %g s", name, e, c.s)
			}
		}
		back := math.Inf(1)
		for i := output(15); i < len(r.Marks); i++ {
			if r.Marks[i].Flags&Locked != 0 {
				back = float64(r.Marks[i].Frame)/48000 - 15
				break
			}
		}
		last := len(r.Marks) - 1
		if back > 9/loop || math.Abs(phaseError(r, last)) > 30 {
			t.Errorf("%s: found again after %.2f s, %.1f mrad off", name, back, phaseError(r, last))
		}
		t.Logf("%s: told after %.4f s, found again after %.3f s", name, told, back)
	}
}

// A chopper's reference is a square wave; its own odd harmonics do not disturb it, and
// the channel's harmonics 1/n come out against the phase of the reference.
func TestSquareWaveReference(t *testing.T) {
	_, turns := reference(96000, 0, 0, 1, at(403.3))
	square := make([]float64, len(turns))
	for i, p := range turns {
		// Band-limited, as a converter hears it: 4/π Σ sin((2k+1)·)/(2k+1).
		for k := 1; k*404 < 24000; k += 2 {
			square[i] += 0.5 * 4 / math.Pi / float64(k) * math.Sin(2*math.Pi*float64(k)*p)
		}
	}
	d := mustNew[float64](t, Config{RateHz: 48000, Lock: Lock{NearHz: 400}, Harmonics: []int{1, 2, 3, 5}, Filter: Filter{PassHz: 20, StopHz: 80}})
	r := run(t, d, [][]float64{square}, nil, fixed(1000), false)
	last := len(r.Marks) - 1
	if !r.Marks[last].OK() || math.Abs(r.Marks[last].FreqHz-403.3) > 1e-3 {
		t.Fatalf("%v at %g Hz", r.Marks[last].Flags, r.Marks[last].FreqHz)
	}
	for i, h := range []float64{1, 2, 3, 5} {
		// sin(hθ) against cos of the fundamental sin(θ): a lag of h·π/2 less π/2.
		want := cmplx.Rect(2/math.Pi/h, (h-1)*math.Pi/2)
		if h == 2 {
			want = 0
		}
		if e := cmplx.Abs(r.At(last)[i] - want); e > 2e-3 {
			t.Errorf("harmonic %g: got %v, want %v", h, r.At(last)[i], want)
		}
	}
}

// A reference with hum as strong as a third of it and 20 % of noise in its amplitude.
func TestDirtyReference(t *testing.T) {
	for _, hum := range []float64{50, 60} {
		x, turns := reference(3*48000, 0.5, 0.02, 5, at(401))
		rng := rand.New(rand.NewPCG(12, 13))
		level := 1.0
		for i := range x {
			level += 2e-3*(1-level) + 0.2*math.Sqrt(2*2e-3)*rng.NormFloat64() // 15 Hz wide
			s := float64(i) / 48000
			x[i] = x[i]*level + 0.17*math.Sin(2*math.Pi*hum*s) + 0.05*math.Sin(2*math.Pi*3*hum*s) + 0.1
		}
		r := followed(t, Lock{NearHz: 400}, x, turns)
		if s := firstLocked(r); s > 1.2 {
			t.Fatalf("hum at %g Hz: locked after %.2f s", hum, s)
		}
		worst := 0.0
		for i := output(1.5); i < len(r.Marks); i++ {
			worst = math.Max(worst, math.Abs(phaseError(r, i)))
			if r.Marks[i].Flags&Locked == 0 {
				t.Fatalf("hum at %g Hz: lock lost at %d", hum, r.Marks[i].Frame)
			}
		}
		if worst > 100 {
			t.Errorf("hum at %g Hz: up to %.0f mrad off", hum, worst)
		}
		t.Logf("hum at %g Hz: up to %.1f mrad off", hum, worst)
	}
}

// One's own reference: a chirp from 500 to 5000 Hz within a second.
func TestChirpWithItsOwnReference(t *testing.T) {
	const frames = 48000
	x, ref := make([]float64, frames), make([]complex128, frames)
	for i := range x {
		s := float64(i) / 48000
		p := 2 * math.Pi * (500*s + 2250*s*s)
		ref[i] = cmplx.Rect(1, p)
		x[i] = 0.4*math.Cos(p+0.9) + 0.1*math.Cos(2*p-0.3)
	}
	d := mustNew[float64](t, Config{RateHz: 48000, External: true, Harmonics: []int{1, 2}, Filter: Filter{PassHz: 50, StopHz: 200}})
	r := run(t, d, [][]float64{x}, ref, fixed(500), false)
	for i, m := range r.Marks {
		if m.Frame < 15_000 {
			continue // twice the tone must be in the stopband, or no tone's image is gone
		}
		if !m.OK() || !math.IsNaN(m.FreqHz) {
			t.Fatalf("mark %+v", m)
		}
		a, b := r.At(i)[0], r.At(i)[1]
		if e := cmplx.Abs(a - cmplx.Rect(0.4, 0.9)); e > 1e-4 {
			t.Errorf("frame %d: fundamental off by %.2g", m.Frame, e)
		}
		if e := cmplx.Abs(b - cmplx.Rect(0.1, -0.3)); e > 2e-4 {
			t.Errorf("frame %d: harmonic off by %.2g", m.Frame, e)
		}
	}
}
