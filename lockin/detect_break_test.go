package lockin

import (
	"example.org/wheatear/lockin/finding"
	"fmt"
	"math"
	"strings"
	"testing"
)

func breakBase() simRecord {
	return simRecord{rateHz: 48000, seconds: 1, tonesHz: []float64{1000}, amp: [2]float64{0.5, 0.25},
		noise: [2]float64{3.5e-4, 3.5e-4}, silence: 0.05, fade: 0.01}
}

// soundRecords are records without a break that a careless detector would object to.
var soundRecords = []struct {
	name   string
	change func(*simRecord)
}{
	{"plain", func(r *simRecord) {}},
	{"pink noise", func(r *simRecord) { r.pink = true }},
	{"20 Hz in pink noise", func(r *simRecord) { r.pink, r.tonesHz = true, []float64{20} }},
	{"short, 20 Hz", func(r *simRecord) { r.tonesHz, r.seconds = []float64{20}, 0.55 }},
	{"120 Hz beside hum", func(r *simRecord) { r.tonesHz, r.hum, r.humHz = []float64{120}, 0.05, 50.1 }},
	{"noise half of the tone", func(r *simRecord) { r.noise = [2]float64{0.2, 0.2} }},
	{"noise above the tone", func(r *simRecord) { r.noise = [2]float64{0.6, 0.6} }},
	{"clock 300 ppm off at 15 kHz", func(r *simRecord) { r.clockPPM, r.tonesHz = 300, []float64{15000} }},
	{"coarse converter", func(r *simRecord) {
		r.bits, r.noise, r.amp, r.tonesHz = 16, [2]float64{1e-5, 1e-5}, [2]float64{1e-4, 1e-3}, []float64{40}
	}},
	{"no noise at all", func(r *simRecord) { r.noise = [2]float64{} }},
	{"no noise, 16 bits, 20 Hz", func(r *simRecord) { r.noise, r.bits, r.tonesHz = [2]float64{}, 16, []float64{20} }},
	{"clipped in both channels at 20 Hz", func(r *simRecord) {
		r.noise, r.tonesHz, r.shape = [2]float64{}, []float64{20}, clipAt(0.2)
	}},
	{"drifting gain", func(r *simRecord) { r.shape = func(ch int, t, v float64) float64 { return v * (1 + t/10) } }},
	{"automatic gain", func(r *simRecord) {
		r.noise = [2]float64{1e-5, 1e-5}
		r.shape = func(ch int, t, v float64) float64 { return v * (0.7 + 0.3*math.Exp(-(t-0.05)/0.1)) }
	}},
	{"slow fades", func(r *simRecord) { r.noise, r.fade = [2]float64{1e-5, 1e-5}, 0.1 }},
	{"fades of 30 ms", func(r *simRecord) { r.noise, r.fade = [2]float64{1e-5, 1e-5}, 0.03 }},
	{"no fades", func(r *simRecord) { r.noise, r.fade = [2]float64{1e-5, 1e-5}, 0 }},
	{"two tones", func(r *simRecord) { r.tonesHz = []float64{120, 10000} }},
	{"31 tones and hum", func(r *simRecord) { r.thirdOctaves(); r.hum, r.humHz = 0.01, 50.02 }},
	{"80 kHz", func(r *simRecord) { r.rateHz, r.tonesHz = 192000, []float64{80000} }},
}

func (r *simRecord) thirdOctaves() {
	r.tonesHz, r.amp = nil, [2]float64{0.05, 0.03}
	for i := 0; i < 31; i++ {
		r.tonesHz = append(r.tonesHz, math.Round(20*math.Pow(10, float64(i)/10)))
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
			x := r.make(uint64(i))
			for _, g := range findBreaks(x, r.rateHz, r.tonesHz, 0, len(x[0])) {
				t.Logf("%s: %s", c.name, g.detail(r.rateHz))
				alarms++
			}
		}
		if alarms > chance(trials, 1e-3) {
			t.Errorf("%s: %d false alarms in %d records", c.name, alarms, trials)
		}
	}
}

func TestNoBreakInSoundRecords(t *testing.T) {
	notShort(t)
	checkSoundRecords(t, 2)
}

func TestSoakNoBreakInSoundRecords(t *testing.T) {
	needSoak(t)
	checkSoundRecords(t, 150)
}

// One lost sample turns the phase by ω/rate; a block of N samples tells it from
// noise of the stated ratio where that exceeds 5.7·√(6/N)·σ/A (see followTone).
func TestMissingSamplesAreFound(t *testing.T) {
	notShort(t)
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
				r.tonesHz, r.noise = []float64{c.freqHz}, [2]float64{sigma, sigma}
				x := cut(r.make(uint64(i)), at, c.lost)
				g := findBreaks(x, r.rateHz, r.tonesHz, 0, len(x[0]))
				if len(g) != 1 || g[0].Kind != gapMissing || absInt(g[0].Frame-at) > c.within {
					t.Fatalf("cut at %d: %+v", at, g)
				}
				period := r.rateHz / c.freqHz
				off := math.Remainder(g[0].Frames-float64(c.lost), period)
				// Phase uncertainty of two sides of half a block at least, six times.
				if tol := 6 * math.Sqrt(8/480.) * sigma / 0.5 / (2 * math.Pi) * period; math.Abs(off) > tol {
					t.Errorf("lost %g modulo %g, want %d", g[0].Frames, period, c.lost)
				}
			}
		})
	}
}

func absInt(n int) int { return max(n, -n) }

func TestWholePeriodsAreNotSeen(t *testing.T) {
	r := breakBase()
	x := cut(r.make(1), 20000, 480)
	if g := findBreaks(x, r.rateHz, r.tonesHz, 0, len(x[0])); len(g) != 0 {
		t.Errorf("ten periods removed: %+v; the doc comment says they cannot be seen", g)
	}
}

func TestKindsOfBreak(t *testing.T) {
	const at = 23000
	r := breakBase()
	clean := r.make(5)
	noise := simRecord{rateHz: 48000, seconds: 1, noise: r.noise}.make(6)
	for _, c := range []struct {
		name   string
		x      [][]float64
		kind   gapKind
		frames float64
		slack  float64
	}{
		{"256 zeros", fill(clean, at, 256, func(int, int) float64 { return 0 }), gapZero, 256, 0},
		{"8 zeros", fill(clean, at, 8, func(int, int) float64 { return 0 }), gapZero, 8, 0},
		{"5000 zeros", fill(clean, at, 5000, func(int, int) float64 { return 0 }), gapZero, 5000, 0},
		{"held", fill(clean, at, 64, func(ch, _ int) float64 { return clean[ch][at-1] }), gapHeld, 65, 0},
		{"block stands in for the next", fill(clean, at, 500, func(ch, i int) float64 { return clean[ch][i-500] }), gapRepeated, 500, 8},
		{"block inserted", cut(fill(clean, at-100, 600, func(ch, i int) float64 {
			if i < at {
				return clean[ch][i]
			}
			return clean[ch][i-500]
		}), at, 0), gapRepeated, 500, 8},
		{"tone away, long", fill(clean, at, 4000, func(ch, i int) float64 { return noise[ch][i] }), gapSilent, 4000, 8},
		{"tone away, short", fill(clean, at, 300, func(ch, i int) float64 { return noise[ch][i] }), gapSilent, 300, 8},
		{"half as loud", fill(clean, at, 48000-at, func(ch, i int) float64 { return clean[ch][i] / 2 }), gapStep, 0, 0},
		{"an eighth as loud", fill(clean, at, 48000-at, func(ch, i int) float64 { return clean[ch][i] / 8 }), gapStep, 0, 0},
	} {
		g := findBreaks(c.x, r.rateHz, r.tonesHz, 0, len(c.x[0]))
		if len(g) == 0 || g[0].Kind != c.kind || absInt(g[0].Frame-at) > 8 || math.Abs(g[0].Frames-c.frames) > c.slack {
			t.Errorf("%s: %+v", c.name, g)
		}
	}
}

// When several tones are there, their phases together tell the loss outright.
func TestSeveralTonesTellTheLoss(t *testing.T) {
	notShort(t)
	r := breakBase()
	r.tonesHz = []float64{130, 10007}
	x := cut(r.make(2), 21000, 2411)
	g := findBreaks(x, r.rateHz, r.tonesHz, 0, len(x[0]))
	if len(g) != 1 || g[0].Frames != 2411 || g[0].Modulo != 0 {
		t.Errorf("two tones, 2411 lost: %+v", g)
	}
	r.thirdOctaves()
	x = cut(r.make(3), 21000, 777)
	g = findBreaks(x, r.rateHz, r.tonesHz, 0, len(x[0]))
	if len(g) != 1 || absInt(g[0].Frame-21000) > 20 {
		t.Errorf("31 tones: %+v", g)
	}
}

func TestSeveralBreaks(t *testing.T) {
	r := breakBase()
	x := r.make(9)
	for _, at := range []int{38000, 30000, 21000, 15000} {
		x = cut(x, at, 17)
	}
	g := findBreaks(x, r.rateHz, r.tonesHz, 0, len(x[0]))
	if len(g) != 4 {
		t.Fatalf("four cuts: %+v", g)
	}
	from, to := longestSound(g, 2400, len(x[0]))
	if absInt(from-2400) > 3 || absInt(to-15000) > 3 {
		t.Errorf("longest sound stretch [%d, %d), want [2400, 15000)", from, to)
	}
}

func TestLongestSoundEdges(t *testing.T) {
	for _, c := range []struct {
		gaps     []gap
		from, to int
	}{
		{nil, 10, 100},
		{[]gap{{Frame: 60, End: 60}}, 10, 60},
		{[]gap{{Frame: 5, End: 20}, {Frame: 95, End: 300}}, 20, 95},
		{[]gap{{Frame: 0, End: 200}}, 10, 10},
	} {
		if from, to := longestSound(c.gaps, 10, 100); from != c.from || to != c.to {
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
			if g := findBreaks(x, 48000, []float64{f}, 0, end); len(g) != 0 {
				t.Errorf("%s at %g Hz: %+v", name, f, g)
			}
		}
	}
}

func TestBreakFindings(t *testing.T) {
	for kind, word := range map[gapKind]string{gapMissing: "missing", gapZero: "zero", gapHeld: "one value", gapSilent: "away", gapRepeated: "twice", gapStep: "changed"} {
		f := gap{Kind: kind, Frame: 24000, Frames: 128, Modulo: 48, LevelRatio: 1}.finding(48000, kind == gapZero)
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
	x := r.make(1)
	b.ReportAllocs()
	for b.Loop() {
		findBreaks(x, r.rateHz, r.tonesHz, 0, len(x[0]))
	}
}
