package stimulus

import (
	"example.org/wheatear/lockin/internal/testkit"
	"math"
	"testing"
)

func TestPrimeUpTo(t *testing.T) {
	for n, want := range map[int]int{4800: 4799, 4799: 4799, 2: 2, 1: 0, 0: 0, -5: 0, 48_000: 47_981, 65_536: 65_521} {
		if got := primeUpTo(n); got != want {
			t.Errorf("primeUpTo(%d) = %d, want %d", n, got, want)
		}
	}
}

func TestCommonPeriod(t *testing.T) {
	for _, c := range []struct{ a, b, limit, want int }{
		{48, 480, 1000, 480}, {48, 441, 10_000, 7056}, {48, 441, 7000, 0}, {0, 5, 100, 0}, {5, 0, 100, 0},
		{1, 7, 7, 7}, {math.MaxInt, math.MaxInt - 1, math.MaxInt, 0},
	} {
		if got := commonPeriod(c.a, c.b, c.limit); got != c.want {
			t.Errorf("commonPeriod(%d, %d, %d) = %d, want %d", c.a, c.b, c.limit, got, c.want)
		}
	}
}

func TestPlacerMainsDistance(t *testing.T) {
	for _, c := range []struct{ mains, freq, want float64 }{
		{0, 100, 0}, {0, 110, 10}, {0, 1010, 10}, {50, 60, 10}, {60, 50, 10}, {0, 20, 30}, {0, 119, 1}, {60, 1000, 20},
	} {
		p := placer{cfg: Config{MainsHz: c.mains}}
		if got := p.mainsDistance(c.freq); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%g Hz at mains %g: %g, want %g", c.freq, c.mains, got, c.want)
		}
	}
}

func TestPlacerClashes(t *testing.T) {
	p := placer{cfg: Config{MaxHarmonic: 5}, taken: []float64{1000}}
	for freq, want := range map[float64]bool{2000: true, 2001: true, 2004: false, 500: true, 200: true, 5000: true, 6000: false, 1000: false, 1500: false} {
		if got := p.clashes(freq, 2); got != want {
			t.Errorf("%g Hz beside 1000: clash %v", freq, got)
		}
	}
}

func TestPlacerNearestFree(t *testing.T) {
	p := placer{cfg: Config{RateHz: 100}, period: 11}
	step := 100.0 / 11
	for i, want := range []int{3, 2, 4, 1, 5} {
		got := p.nearestFree(3.1)
		if got != want {
			t.Fatalf("choice %d is %d, want %d", i+1, got, want)
		}
		p.taken = append(p.taken, float64(got)*step)
	}
	if got := p.nearestFree(3.1); got != 3 {
		t.Errorf("with every place taken: %d, want the first choice 3", got)
	}
}

// With mains known, a tone is kept clear of that one only.
func TestPlanKnowsMains(t *testing.T) {
	p := mustPlan(t, Config{RateHz: 48000, MainsHz: 50}, ToneRequest{120, true})
	if f := p.Tones[0].FreqHz; math.Abs(f-120) > 0.2 {
		t.Errorf("120 Hz at 50 Hz mains moved to %g Hz", f)
	}
	p = mustPlan(t, Config{RateHz: 48000, MainsHz: 60}, ToneRequest{120, true})
	if f := p.Tones[0].FreqHz; math.Abs(f-120) < 2 {
		t.Errorf("120 Hz at 60 Hz mains stayed at %g Hz", f)
	}
}

// In a record too short for a choice the tone still makes whole cycles.
func TestPlanShort(t *testing.T) {
	p := mustPlan(t, Config{RateHz: 48000, Seconds: 0.1, NoFade: true}, ToneRequest{25, true})
	tone := p.Tones[0]
	if tone.Cycles < 1 || tone.Period < 2 || p.SteadyFrames != tone.Period || math.Abs(tone.FreqHz-25) > 10 {
		t.Errorf("got %+v in %d frames", tone, p.SteadyFrames)
	}
}

// Tones without a common period are scaled by the sum of their amplitudes.
func TestPlanWithoutCommonPeriod(t *testing.T) {
	p := mustPlan(t, Config{RateHz: 48000, Peak: 0.6}, ToneRequest{1000.123456, false}, ToneRequest{2345.678, false})
	if p.Period != 0 || math.Abs(p.Tones[0].Amplitude+p.Tones[1].Amplitude-0.6) > 1e-12 || math.Abs(p.CrestFactor-2) > 1e-12 {
		t.Errorf("period %d, amplitudes %g and %g, crest factor %g", p.Period, p.Tones[0].Amplitude, p.Tones[1].Amplitude, p.CrestFactor)
	}
	if p.Tones[0].Cycles != 0 || p.Tones[0].Period != 0 {
		t.Errorf("%+v is on a grid", p.Tones[0])
	}
}

func TestPlanMarksConflicts(t *testing.T) {
	p := mustPlan(t, Config{RateHz: 48000}, ToneRequest{1010, false}, ToneRequest{3030, false}, ToneRequest{150, false})
	for i, want := range []struct{ mains, harmonic bool }{{false, true}, {false, true}, {true, false}} {
		if got := p.Tones[i]; got.OnMains != want.mains || got.OnHarmonic != want.harmonic {
			t.Errorf("tone %d: %+v, want %+v", i, got, want)
		}
	}
}

// Equal shares of power give −πk(k−1)/N up to whole turns and a shift in time.
func TestPhaseRules(t *testing.T) {
	ones := []float64{1, 1, 1, 1}
	for k, got := range Newman.Phases(ones) {
		testkit.CheckRel(t, "Newman", got, math.Pi*float64(k*k)/4, 1e-15)
	}
	for i, got := range Schroeder.Phases(ones) {
		k := float64(i + 1)
		if d := math.Remainder(got+math.Pi*k*(k-1)/4, 2*math.Pi); math.Abs(d) > 1e-14 {
			t.Errorf("Schroeder, tone %g: off by %g", k, d)
		}
	}
	// All power in the first tone: φ_k = −2π(k−1), no phase at all.
	for i, got := range Schroeder.Phases([]float64{1, 0, 0}) {
		if d := math.Remainder(got, 2*math.Pi); math.Abs(d) > 1e-14 {
			t.Errorf("Schroeder, lone tone, %d: %g", i, d)
		}
	}
	for _, got := range ZeroPhase.Phases(ones) {
		if got != 0 {
			t.Errorf("zero phase is %g", got)
		}
	}
}
