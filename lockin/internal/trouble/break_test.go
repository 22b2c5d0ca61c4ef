package trouble

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/internal/testkit"
)

func breakBase() testkit.Record {
	return testkit.Record{RateHz: 48000, Seconds: 1, TonesHz: []float64{1000}, Amp: [2]float64{0.5, 0.25},
		Noise: [2]float64{3.5e-4, 3.5e-4}, Silence: 0.05, Fade: 0.01}
}

// soundRecords are records without a break that a careless detector would object to.
var soundRecords = []struct {
	name   string
	change func(*testkit.Record)
}{
	{"plain", func(r *testkit.Record) {}},
	{"pink noise", func(r *testkit.Record) { r.Pink = true }},
	{"20 Hz in pink noise", func(r *testkit.Record) { r.Pink, r.TonesHz = true, []float64{20} }},
	{"short, 20 Hz", func(r *testkit.Record) { r.TonesHz, r.Seconds = []float64{20}, 0.55 }},
	{"120 Hz beside hum", func(r *testkit.Record) { r.TonesHz, r.Hum, r.HumHz = []float64{120}, 0.05, 50.1 }},
	{"noise half of the tone", func(r *testkit.Record) { r.Noise = [2]float64{0.2, 0.2} }},
	{"noise above the tone", func(r *testkit.Record) { r.Noise = [2]float64{0.6, 0.6} }},
	{"clock 300 ppm off at 15 kHz", func(r *testkit.Record) { r.ClockPPM, r.TonesHz = 300, []float64{15000} }},
	{"coarse converter", func(r *testkit.Record) {
		r.Bits, r.Noise, r.Amp, r.TonesHz = 16, [2]float64{1e-5, 1e-5}, [2]float64{1e-4, 1e-3}, []float64{40}
	}},
	{"no noise at all", func(r *testkit.Record) { r.Noise = [2]float64{} }},
	{"no noise, 16 bits, 20 Hz", func(r *testkit.Record) { r.Noise, r.Bits, r.TonesHz = [2]float64{}, 16, []float64{20} }},
	{"clipped in both channels at 20 Hz", func(r *testkit.Record) {
		r.Noise, r.TonesHz, r.Shape = [2]float64{}, []float64{20}, clipAt(0.2)
	}},
	{"drifting gain", func(r *testkit.Record) { r.Shape = func(ch int, t, v float64) float64 { return v * (1 + t/10) } }},
	{"automatic gain", func(r *testkit.Record) {
		r.Noise = [2]float64{1e-5, 1e-5}
		r.Shape = func(ch int, t, v float64) float64 { return v * (0.7 + 0.3*math.Exp(-(t-0.05)/0.1)) }
	}},
	{"slow fades", func(r *testkit.Record) { r.Noise, r.Fade = [2]float64{1e-5, 1e-5}, 0.1 }},
	{"fades of 30 ms", func(r *testkit.Record) { r.Noise, r.Fade = [2]float64{1e-5, 1e-5}, 0.03 }},
	{"no fades", func(r *testkit.Record) { r.Noise, r.Fade = [2]float64{1e-5, 1e-5}, 0 }},
	{"two tones", func(r *testkit.Record) { r.TonesHz = []float64{120, 10000} }},
	{"31 tones and hum", func(r *testkit.Record) { thirdOctaves(r); r.Hum, r.HumHz = 0.01, 50.02 }},
	{"80 kHz", func(r *testkit.Record) { r.RateHz, r.TonesHz = 192000, []float64{80000} }},
}

func thirdOctaves(r *testkit.Record) {
	r.TonesHz, r.Amp = nil, [2]float64{0.05, 0.03}
	for i := 0; i < 31; i++ {
		r.TonesHz = append(r.TonesHz, math.Round(20*math.Pow(10, float64(i)/10)))
	}
}

func clipAt(limit float64) func(int, float64, float64) float64 {
	return func(_ int, _, v float64) float64 { return math.Max(-limit, math.Min(limit, v)) }
}

func checkSoundRecords(t *testing.T, trials int) {
	for _, c := range soundRecords {
		r, alarms := breakBase(), 0
		c.change(&r)
		for i := 0; i < trials; i++ {
			x := r.Make(uint64(i))
			for _, g := range FindBreaks(x, r.RateHz, r.TonesHz, 0, len(x[0])) {
				t.Logf("%s: %s", c.name, g.detail(r.RateHz))
				alarms++
			}
		}
		if alarms > testkit.Chance(trials, 1e-3) {
			t.Errorf("%s: %d false alarms in %d records", c.name, alarms, trials)
		}
	}
}

func TestNoBreakInSoundRecords(t *testing.T) {
	testkit.NotShort(t)
	checkSoundRecords(t, 2)
}

func TestSoakNoBreakInSoundRecords(t *testing.T) {
	testkit.NeedSoak(t)
	checkSoundRecords(t, 150)
}

// One lost sample turns the phase by ω/rate; a block of N samples tells it from
// noise of the stated ratio where that exceeds 5.7·√(6/N)·σ/A (see followTone).
func TestMissingSamplesAreFound(t *testing.T) {
	testkit.NotShort(t)
	for _, c := range []struct {
		freqHz, snrDB float64
		lost, within  int
	}{
		{30, 60, 1, 12}, {100, 40, 1, 20}, {100, 60, 1, 8}, {430, 40, 1, 4}, {1000, 20, 1, 15}, {1000, 60, 1, 2},
		{1000, 60, 24, 2}, {1000, 60, 473, 2}, {1030, 80, 4813, 2}, {1030, 20, 4813, 8}, {10000, 40, 777, 3}, {20000, 60, 1, 2},
	} {
		t.Run(fmt.Sprintf("%g Hz %g dB %d lost", c.freqHz, c.snrDB, c.lost), func(t *testing.T) {
			for i := 0; i < 2; i++ {
				r, at := breakBase(), 20000+331*i
				sigma := 0.5 / math.Sqrt2 * math.Pow(10, -c.snrDB/20)
				r.TonesHz, r.Noise = []float64{c.freqHz}, [2]float64{sigma, sigma}
				x := testkit.Cut(r.Make(uint64(i)), at, c.lost)
				g := FindBreaks(x, r.RateHz, r.TonesHz, 0, len(x[0]))
				if len(g) != 1 || g[0].Kind != GapMissing || testkit.AbsInt(g[0].Frame-at) > c.within {
					t.Fatalf("cut at %d: %+v", at, g)
				}
				period := r.RateHz / c.freqHz
				off := math.Remainder(g[0].Frames-float64(c.lost), period)
				// Phase uncertainty of two sides of half a block at least, six times.
				if tol := 6 * math.Sqrt(8/480.) * sigma / 0.5 / (2 * math.Pi) * period; math.Abs(off) > tol {
					t.Errorf("lost %g modulo %g, want %d", g[0].Frames, period, c.lost)
				}
			}
		})
	}
}

func TestWholePeriodsAreNotSeen(t *testing.T) {
	r := breakBase()
	x := testkit.Cut(r.Make(1), 20000, 480)
	if g := FindBreaks(x, r.RateHz, r.TonesHz, 0, len(x[0])); len(g) != 0 {
		t.Errorf("ten periods removed: %+v; the doc comment says they cannot be seen", g)
	}
}

func TestKindsOfBreak(t *testing.T) {
	const at = 23000
	r := breakBase()
	clean := r.Make(5)
	noise := testkit.Record{RateHz: 48000, Seconds: 1, Noise: r.Noise}.Make(6)
	for _, c := range []struct {
		name   string
		x      [][]float64
		kind   gapKind
		frames float64
		slack  float64
	}{
		{"256 zeros", testkit.Fill(clean, at, 256, func(int, int) float64 { return 0 }), gapZero, 256, 0},
		{"8 zeros", testkit.Fill(clean, at, 8, func(int, int) float64 { return 0 }), gapZero, 8, 0},
		{"5000 zeros", testkit.Fill(clean, at, 5000, func(int, int) float64 { return 0 }), gapZero, 5000, 0},
		{"held", testkit.Fill(clean, at, 64, func(ch, _ int) float64 { return clean[ch][at-1] }), gapHeld, 65, 0},
		{"block stands in for the next", testkit.Fill(clean, at, 500, func(ch, i int) float64 { return clean[ch][i-500] }), gapRepeated, 500, 8},
		{"block inserted", testkit.Cut(testkit.Fill(clean, at-100, 600, func(ch, i int) float64 {
			if i < at {
				return clean[ch][i]
			}
			return clean[ch][i-500]
		}), at, 0), gapRepeated, 500, 8},
		{"tone away, long", testkit.Fill(clean, at, 4000, func(ch, i int) float64 { return noise[ch][i] }), gapSilent, 4000, 8},
		{"tone away, short", testkit.Fill(clean, at, 300, func(ch, i int) float64 { return noise[ch][i] }), gapSilent, 300, 8},
		{"half as loud", testkit.Fill(clean, at, 48000-at, func(ch, i int) float64 { return clean[ch][i] / 2 }), GapStep, 0, 0},
		{"an eighth as loud", testkit.Fill(clean, at, 48000-at, func(ch, i int) float64 { return clean[ch][i] / 8 }), GapStep, 0, 0},
	} {
		g := FindBreaks(c.x, r.RateHz, r.TonesHz, 0, len(c.x[0]))
		if len(g) == 0 || g[0].Kind != c.kind || testkit.AbsInt(g[0].Frame-at) > 8 || math.Abs(g[0].Frames-c.frames) > c.slack {
			t.Errorf("%s: %+v", c.name, g)
		}
	}
}

// When several tones are there, their phases together tell the loss outright.
func TestSeveralTonesTellTheLoss(t *testing.T) {
	testkit.NotShort(t)
	r := breakBase()
	r.TonesHz = []float64{130, 10007}
	x := testkit.Cut(r.Make(2), 21000, 2411)
	g := FindBreaks(x, r.RateHz, r.TonesHz, 0, len(x[0]))
	if len(g) != 1 || g[0].Frames != 2411 || g[0].Modulo != 0 {
		t.Errorf("two tones, 2411 lost: %+v", g)
	}
	thirdOctaves(&r)
	x = testkit.Cut(r.Make(3), 21000, 777)
	g = FindBreaks(x, r.RateHz, r.TonesHz, 0, len(x[0]))
	if len(g) != 1 || testkit.AbsInt(g[0].Frame-21000) > 20 {
		t.Errorf("31 tones: %+v", g)
	}
}

func TestSeveralBreaks(t *testing.T) {
	r := breakBase()
	x := r.Make(9)
	for _, at := range []int{38000, 30000, 21000, 15000} {
		x = testkit.Cut(x, at, 17)
	}
	g := FindBreaks(x, r.RateHz, r.TonesHz, 0, len(x[0]))
	if len(g) != 4 {
		t.Fatalf("four cuts: %+v", g)
	}
	from, to := LongestSound(g, 2400, len(x[0]))
	if testkit.AbsInt(from-2400) > 3 || testkit.AbsInt(to-15000) > 3 {
		t.Errorf("longest sound stretch [%d, %d), want [2400, 15000)", from, to)
	}
}

func TestLongestSoundEdges(t *testing.T) {
	for _, c := range []struct {
		gaps     []Gap
		from, to int
	}{
		{nil, 10, 100},
		{[]Gap{{Frame: 60, End: 60}}, 10, 60},
		{[]Gap{{Frame: 5, End: 20}, {Frame: 95, End: 300}}, 20, 95},
		{[]Gap{{Frame: 0, End: 200}}, 10, 10},
	} {
		if from, to := LongestSound(c.gaps, 10, 100); from != c.from || to != c.to {
			t.Errorf("%v: [%d, %d), want [%d, %d)", c.gaps, from, to, c.from, c.to)
		}
	}
}

func TestBreaksTakeAnyInput(t *testing.T) {
	for name, x := range map[string][][]float64{
		"nothing": nil, "empty": {{}, {}}, "short": {make([]float64, 50)}, "silence": {make([]float64, 48000), make([]float64, 48000)},
	} {
		end := 0
		if len(x) > 0 {
			end = len(x[0])
		}
		for _, f := range []float64{0.5, 20, 1000, 23999, 30000} {
			if g := FindBreaks(x, 48000, []float64{f}, 0, end); len(g) != 0 {
				t.Errorf("%s at %g Hz: %+v", name, f, g)
			}
		}
	}
}

func TestBreakFindings(t *testing.T) {
	for kind, word := range map[gapKind]string{GapMissing: "missing", gapZero: "zero", gapHeld: "one value", gapSilent: "away", gapRepeated: "twice", GapStep: "changed"} {
		f := Gap{Kind: kind, Frame: 24000, Frames: 128, Modulo: 48, LevelRatio: 1}.Finding(48000, kind == gapZero)
		if !strings.Contains(f.Detail, word) || !strings.Contains(f.Detail, "0.5000 s") || *f.AtS != 0.5 || f.Advice == "" {
			t.Errorf("%s: %+v", kind, f)
		}
		if want := map[bool]finding.Severity{true: finding.Warning, false: finding.Invalid}[kind == gapZero]; f.Severity != want {
			t.Errorf("%s: severity %s, want %s", kind, f.Severity, want)
		}
	}
}

func BenchmarkFindBreaks(b *testing.B) {
	r := breakBase()
	x := r.Make(1)
	b.ReportAllocs()
	for b.Loop() {
		FindBreaks(x, r.RateHz, r.TonesHz, 0, len(x[0]))
	}
}
