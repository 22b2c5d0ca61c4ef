package trouble

import (
	"example.org/wheatear/lockin/internal/testkit"
	"math"
	"testing"
)

// moving makes a record whose level changes as gain says, noise included where
// withNoise is set, with its residual.
func moving(r testkit.Record, seed uint64, withNoise bool, gain func(ch int, t float64) float64) (x, noise [][]float64) {
	quiet := r
	quiet.Noise, quiet.Hum = [2]float64{}, 0
	tone := quiet.Make(seed)
	r.TonesHz = nil
	noise = r.Make(seed)
	x = make([][]float64, 2)
	for ch := range x {
		x[ch] = make([]float64, len(tone[ch]))
		for i := range x[ch] {
			g := gain(ch, float64(i)/r.RateHz)
			x[ch][i] = g * tone[ch][i]
			if withNoise {
				noise[ch][i] *= g
			}
			x[ch][i] += noise[ch][i]
		}
	}
	return x, noise
}

func checkSteady(t *testing.T, trials int) {
	for _, c := range []struct {
		name   string
		change func(*testkit.Record)
		chance float64
	}{
		{"white", func(r *testkit.Record) {}, 1e-4},
		{"1/f", func(r *testkit.Record) { r.Pink = true }, 1e-3},
		{"225 Hz between mains lines", func(r *testkit.Record) { r.TonesHz, r.Hum, r.HumHz = []float64{225}, 0.02, 50.02 }, 1e-3},
		{"120 Hz beside hum", func(r *testkit.Record) { r.TonesHz, r.Hum, r.HumHz = []float64{120}, 0.02, 49.97 }, 1e-3},
		{"20 Hz", func(r *testkit.Record) { r.TonesHz = []float64{20} }, 1e-4},
		{"clock off", func(r *testkit.Record) { r.ClockPPM = 200 }, 1e-4},
		{"16 bits, hardly noise", func(r *testkit.Record) { r.Bits, r.Noise = 16, [2]float64{1e-6, 1e-6} }, 1e-3},
		{"no noise", func(r *testkit.Record) { r.Noise = [2]float64{} }, 1e-4},
	} {
		r, alarms := testkit.SteadyBase(1000, 60), 0
		r.Seconds = 0.8
		c.change(&r)
		for i := 0; i < trials; i++ {
			x := r.Make(uint64(i))
			s := FindSettling(x, nil, nil, r.RateHz, r.TonesHz[0], 0, len(x[0]))
			if s.Kind != settleNone {
				t.Logf("%s: %+v", c.name, s)
				alarms++
			}
		}
		if alarms > testkit.Chance(trials, c.chance) {
			t.Errorf("%s: %d of %d steady records called moving", c.name, alarms, trials)
		}
	}
}

func TestSteadyLevels(t *testing.T) {
	testkit.NotShort(t)
	checkSteady(t, 8)
}

func TestSoakSteadyLevels(t *testing.T) {
	testkit.NeedSoak(t)
	checkSteady(t, 1000)
}

func TestMovingLevels(t *testing.T) {
	decay := func(by, tau float64) func(int, float64) float64 {
		return func(_ int, t float64) float64 { return 1 + by*math.Exp(-t/tau) }
	}
	for _, c := range []struct {
		name      string
		withNoise bool
		gain      func(int, float64) float64
		want      settleKind
	}{
		{"source drifts by 0.2 %", false, func(_ int, t float64) float64 { return 1 + 0.002*t }, settleSource},
		{"source decays by 0.1 %", false, decay(1e-3, 0.2), settleSource},
		{"source falls by 20 %", false, decay(0.2, 0.3), settleSource},
		{"gain falls by 20 %", true, decay(0.2, 0.3), settleGain},
		{"gain falls by 3 %", true, decay(0.03, 0.3), settleGain},
		{"channel 2 settles by 0.2 %", false, func(ch int, t float64) float64 { return 1 + 0.002*float64(ch)*math.Exp(-t/0.2) }, settleRatio},
	} {
		for seed := uint64(0); seed < 3; seed++ {
			r := testkit.SteadyBase(1000, 60)
			r.Seconds = 1
			x, noise := moving(r, seed, c.withNoise, c.gain)
			s := FindSettling(x, noise, nil, r.RateHz, 1000, 0, len(x[0]))
			if s.Kind != c.want {
				t.Errorf("%s: %+v", c.name, s)
			}
		}
	}
}

func TestSettlingFigures(t *testing.T) {
	r := testkit.SteadyBase(1000, 80)
	r.Seconds = 1
	x, noise := moving(r, 1, false, func(ch int, t float64) float64 { return 1 + 0.01*float64(ch)*t })
	s := FindSettling(x, noise, nil, r.RateHz, 1000, 0, len(x[0]))
	// ln(1.01) over the record; the mean lies half of it from the end. A parabola
	// through a logarithm leaves less than 1e-5.
	if math.Abs(s.RatioChange-math.Log(1.01)) > 1e-4 || math.Abs(s.RatioEffect-math.Log(1.01)/2) > 1e-4 {
		t.Errorf("a drift of 1 %%: %+v", s)
	}
	x, noise = moving(r, 2, false, func(ch int, t float64) float64 { return 1 + 0.02*math.Exp(-t/0.05) })
	s = FindSettling(x, noise, nil, r.RateHz, 1000, 0, len(x[0]))
	// 0.02·exp(−t/50 ms) falls below the noise of what remains, some 1e-5, after 0.35 s.
	if at := float64(s.SettledFrame) / 48000; at < 0.2 || at > 0.6 {
		t.Errorf("settled after %g s: %+v", at, s)
	}
}

func TestSettlingTakesAnyInput(t *testing.T) {
	z := make([]float64, 48000)
	for _, x := range [][][]float64{{z}, {z, z}, {z[:100], z[:100]}} {
		if s := FindSettling(x, x, nil, 48000, 1000, 0, len(x[0])); s.Kind != settleNone {
			t.Errorf("silence: %+v", s)
		}
	}
	x := testkit.SteadyBase(1000, 60).Make(1)
	if s := FindSettling(x[:1], nil, nil, 48000, 1000, 0, len(x[0])); s.Kind != settleNone || len(s.LevelChange) != 1 {
		t.Errorf("one channel: %+v", s)
	}
}

func BenchmarkFindSettling(b *testing.B) {
	r := testkit.SteadyBase(1000, 60)
	r.Seconds = 1
	x := r.Make(1)
	for b.Loop() {
		FindSettling(x, nil, nil, r.RateHz, 1000, 0, len(x[0]))
	}
}
