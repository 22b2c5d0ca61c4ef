package lockin

import (
	"example.org/wheatear/lockin/finding"
	"math"
	"strings"
	"testing"
)

// moving makes a record whose level changes as gain says, noise included where
// withNoise is set, with its residual.
func moving(r simRecord, seed uint64, withNoise bool, gain func(ch int, t float64) float64) (x, noise [][]float64) {
	quiet := r
	quiet.noise, quiet.hum = [2]float64{}, 0
	tone := quiet.make(seed)
	r.tonesHz = nil
	noise = r.make(seed)
	x = make([][]float64, 2)
	for ch := range x {
		x[ch] = make([]float64, len(tone[ch]))
		for i := range x[ch] {
			g := gain(ch, float64(i)/r.rateHz)
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
		change func(*simRecord)
		chance float64
	}{
		{"white", func(r *simRecord) {}, 1e-4},
		{"1/f", func(r *simRecord) { r.pink = true }, 1e-3},
		{"225 Hz between mains lines", func(r *simRecord) { r.tonesHz, r.hum, r.humHz = []float64{225}, 0.02, 50.02 }, 1e-3},
		{"120 Hz beside hum", func(r *simRecord) { r.tonesHz, r.hum, r.humHz = []float64{120}, 0.02, 49.97 }, 1e-3},
		{"20 Hz", func(r *simRecord) { r.tonesHz = []float64{20} }, 1e-4},
		{"clock off", func(r *simRecord) { r.clockPPM = 200 }, 1e-4},
		{"16 bits, hardly noise", func(r *simRecord) { r.bits, r.noise = 16, [2]float64{1e-6, 1e-6} }, 1e-3},
		{"no noise", func(r *simRecord) { r.noise = [2]float64{} }, 1e-4},
	} {
		r, alarms := steadyBase(1000, 60), 0
		r.seconds = 0.8
		c.change(&r)
		for i := 0; i < trials; i++ {
			x := r.make(uint64(i))
			s := findSettling(x, nil, nil, r.rateHz, r.tonesHz[0], 0, len(x[0]))
			if s.Kind != settleNone {
				t.Logf("%s: %+v", c.name, s)
				alarms++
			}
		}
		if alarms > chance(trials, c.chance) {
			t.Errorf("%s: %d of %d steady records called moving", c.name, alarms, trials)
		}
	}
}

func TestSteadyLevels(t *testing.T) {
	notShort(t)
	checkSteady(t, 8)
}

func TestSoakSteadyLevels(t *testing.T) {
	needSoak(t)
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
			r := steadyBase(1000, 60)
			r.seconds = 1
			x, noise := moving(r, seed, c.withNoise, c.gain)
			s := findSettling(x, noise, nil, r.rateHz, 1000, 0, len(x[0]))
			if s.Kind != c.want {
				t.Errorf("%s: %+v", c.name, s)
			}
		}
	}
}

func TestSettlingFigures(t *testing.T) {
	r := steadyBase(1000, 80)
	r.seconds = 1
	x, noise := moving(r, 1, false, func(ch int, t float64) float64 { return 1 + 0.01*float64(ch)*t })
	s := findSettling(x, noise, nil, r.rateHz, 1000, 0, len(x[0]))
	// ln(1.01) over the record; the mean lies half of it from the end. A parabola
	// through a logarithm leaves less than 1e-5.
	if math.Abs(s.RatioChange-math.Log(1.01)) > 1e-4 || math.Abs(s.RatioEffect-math.Log(1.01)/2) > 1e-4 {
		t.Errorf("a drift of 1 %%: %+v", s)
	}
	x, noise = moving(r, 2, false, func(ch int, t float64) float64 { return 1 + 0.02*math.Exp(-t/0.05) })
	s = findSettling(x, noise, nil, r.rateHz, 1000, 0, len(x[0]))
	// 0.02·exp(−t/50 ms) falls below the noise of what remains, some 1e-5, after 0.35 s.
	if at := float64(s.SettledFrame) / 48000; at < 0.2 || at > 0.6 {
		t.Errorf("settled after %g s: %+v", at, s)
	}
	if f, ok := s.finding(1000, 1e-4); !ok || f.Code != finding.Unsettled || f.Severity != finding.Warning {
		t.Errorf("common movement: %+v", f)
	}
}

func TestSettleFindings(t *testing.T) {
	for _, c := range []struct {
		s        settleFigures
		code     finding.Code
		severity finding.Severity
		word     string
	}{
		{settleFigures{Kind: settleGain, LevelChange: []float64{0.2, 0.2}, RatioEffect: 1e-6}, finding.AutoGain, finding.Warning, "20 % (channel 1)"},
		{settleFigures{Kind: settleGain, LevelChange: []float64{0.2, math.NaN()}, RatioEffect: 1e-2}, finding.AutoGain, finding.Invalid, "gain follows"},
		{settleFigures{Kind: settleSource, LevelChange: []float64{0.002}}, finding.Unsettled, finding.Warning, "alike"},
		{settleFigures{Kind: settleRatio, LevelChange: []float64{0, 0.01}, RatioChange: 0.01, RatioEffect: 0.005}, finding.Unsettled, finding.Invalid, "1 %"},
	} {
		f, ok := c.s.finding(1000, 1e-3)
		if !ok || f.Code != c.code || f.Severity != c.severity || !strings.Contains(f.Detail, c.word) || f.Advice == "" {
			t.Errorf("%+v: %+v", c.s, f)
		}
	}
	if _, ok := (settleFigures{}).finding(1000, 1); ok {
		t.Error("nothing moves, yet a finding")
	}
}

func TestSettlingTakesAnyInput(t *testing.T) {
	z := make([]float64, 48000)
	for _, x := range [][][]float64{{z}, {z, z}, {z[:100], z[:100]}} {
		if s := findSettling(x, x, nil, 48000, 1000, 0, len(x[0])); s.Kind != settleNone {
			t.Errorf("silence: %+v", s)
		}
	}
	x := steadyBase(1000, 60).make(1)
	if s := findSettling(x[:1], nil, nil, 48000, 1000, 0, len(x[0])); s.Kind != settleNone || len(s.LevelChange) != 1 {
		t.Errorf("one channel: %+v", s)
	}
}

func BenchmarkFindSettling(b *testing.B) {
	r := steadyBase(1000, 60)
	r.seconds = 1
	x := r.make(1)
	for b.Loop() {
		findSettling(x, nil, nil, r.rateHz, 1000, 0, len(x[0]))
	}
}
