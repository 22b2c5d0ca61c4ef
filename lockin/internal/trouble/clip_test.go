package trouble

import (
	"example.org/wheatear/lockin/internal/testkit"
	"fmt"
	"math"
	"strings"
	"testing"
)

// fittedTones returns what a least-squares fit of the tones alone makes of x.
func fittedTones(t testing.TB, x []float64, r testkit.Record) []float64 {
	t.Helper()
	turns := make([]float64, len(r.TonesHz))
	for i, f := range r.TonesHz {
		turns[i] = f / r.RateHz
	}
	s, ok := fitSines(x, 0, len(x), turns)
	if !ok {
		t.Fatal("tones cannot be fitted")
	}
	out := s.residual(x, 0, len(x))
	for i := range out {
		out[i] = x[i] - s.dc - out[i]
	}
	return out
}

func clippingIn(t testing.TB, r testkit.Record, seed uint64) ClipFigures {
	x := r.Make(seed)[0]
	return FindClipping(x, x, fittedTones(t, x, r), r.Bits)
}

var unclippedRecords = []struct {
	name   string
	change func(*testkit.Record)
}{
	{"white", func(r *testkit.Record) {}},
	{"pink", func(r *testkit.Record) { r.Pink = true }},
	{"hum, 16 bits", func(r *testkit.Record) { r.Bits, r.Hum, r.HumHz = 16, 0.003, 50.02 }},
	{"quiet, 16 bits, 20 Hz", func(r *testkit.Record) { r.Bits, r.Noise, r.TonesHz = 16, [2]float64{}, []float64{20} }},
	{"16 bits in a file of 24, 20 Hz", func(r *testkit.Record) {
		r.Bits, r.Noise, r.TonesHz = 16, [2]float64{1e-6, 1e-6}, []float64{20}
	}},
	{"low level, 16 bits", func(r *testkit.Record) { r.Bits, r.Amp, r.Noise = 16, [2]float64{0.002, 0.002}, [2]float64{1e-5, 1e-5} }},
	{"no noise", func(r *testkit.Record) { r.Noise = [2]float64{} }},
	{"period of four samples", func(r *testkit.Record) { r.TonesHz = []float64{12000} }},
	{"31 tones", func(r *testkit.Record) { thirdOctaves(r) }},
	{"converter with 0.01 % distortion", func(r *testkit.Record) {
		r.Shape = func(_ int, _, v float64) float64 { return v - 1e-3*v*v*v + 3e-4*v*v }
	}},
}

func checkUnclipped(t *testing.T, trials int) {
	for _, c := range unclippedRecords {
		r, alarms := testkit.SteadyBase(1030, 70), 0
		c.change(&r)
		for i := 0; i < trials; i++ {
			x := r.Make(uint64(i))[0]
			bits := r.Bits
			if strings.Contains(c.name, "file of 24") {
				bits = 24
			}
			if f := FindClipping(x, x, fittedTones(t, x, r), bits); f.Clipped {
				t.Logf("%s: %+v", c.name, f)
				alarms++
			}
		}
		if alarms > testkit.Chance(trials, 1e-3) {
			t.Errorf("%s: %d of %d clean records called clipped", c.name, alarms, trials)
		}
	}
}

func TestNoClippingInCleanRecords(t *testing.T) {
	testkit.NotShort(t)
	checkUnclipped(t, 3)
}

func TestSoakNoClippingInCleanRecords(t *testing.T) {
	testkit.NeedSoak(t)
	checkUnclipped(t, 400)
}

func TestClippingBelowFullScaleIsFound(t *testing.T) {
	testkit.NotShort(t)
	for _, c := range []struct {
		freqHz, snrDB, depth float64
		bits                 int
	}{
		{20, 60, 0.002, 0}, {100, 80, 5e-4, 24}, {1030, 80, 5e-4, 0}, {1030, 60, 0.002, 16}, {1030, 40, 0.02, 0},
		{1030, 80, 0.05, 0}, {1030, 80, 0.2, 24}, {1030, 60, 0.5, 0}, {1030, 60, 0.9, 0}, {15013, 60, 0.01, 0}, {20011, 80, 0.002, 24},
	} {
		r := testkit.SteadyBase(c.freqHz, c.snrDB)
		r.Bits, r.Shape = c.bits, clipAt(0.5*(1-c.depth))
		for i := uint64(0); i < 5; i++ {
			f := clippingIn(t, r, i)
			if !f.Clipped {
				t.Errorf("%g Hz, %g dB, cut by %g: not found, %+v", c.freqHz, c.snrDB, c.depth, f)
				continue
			}
			level := 0.5 * (1 - c.depth)
			// The mean of the flat part rises by noise averaged over what exceeds a kink that is itself uncertain.
			if tol := 4 * (r.Noise[0] + 5e-4*0.5); math.Abs(f.Top-level) > tol && math.Abs(f.Bottom+level) > tol {
				t.Errorf("%g Hz, cut at %g: told %g and %g", c.freqHz, level, f.Top, f.Bottom)
			}
		}
	}
}

func TestOneSideClipped(t *testing.T) {
	r := testkit.SteadyBase(1030, 70)
	r.Shape = func(_ int, _, v float64) float64 { return math.Max(v, -0.45) }
	f := clippingIn(t, r, 1)
	if !f.Clipped || !math.IsNaN(f.Top) || math.Abs(f.Bottom+0.45) > 1e-3 {
		t.Errorf("cut at −0.45 only: %+v", f)
	}
	if want := math.Acos(0.9) / math.Pi; math.Abs(f.Fraction-want) > 0.1*want {
		t.Errorf("fraction %g, a sine spends %g beyond nine tenths", f.Fraction, want)
	}
}

func TestClippedMultisine(t *testing.T) {
	testkit.NotShort(t)
	r := testkit.SteadyBase(1030, 70)
	thirdOctaves(&r)
	r.Seconds = 1
	peak := farthest(testkit.Record{RateHz: 48000, Seconds: 1, TonesHz: r.TonesHz, Amp: r.Amp}.Make(0)[0])
	r.Bits, r.Shape = 16, clipAt(0.8*peak)
	if f := clippingIn(t, r, 1); !f.Clipped {
		t.Errorf("31 tones cut at 0.8 of their peak: %+v", f)
	}
}

func TestFullScale(t *testing.T) {
	for _, c := range []struct {
		name   string
		freqHz float64
		amp    float64
		bits   int
		want   bool
	}{
		{"over by 20 %", 1000, 1.2, 16, true},
		{"over by 2 %", 1030, 1.02, 24, true},
		{"20 kHz, two samples a period", 20000, 1.3, 16, true},
		{"just below", 1030, 0.999, 16, false},
		{"float has no full scale", 1030, 2, 0, false},
	} {
		r := testkit.SteadyBase(c.freqHz, 80)
		r.Amp, r.Bits = [2]float64{c.amp, c.amp}, c.bits
		f := clippingIn(t, r, 1)
		if f.Clipped != c.want || c.want && f.AtFullScale < 3 {
			t.Errorf("%s: %+v", c.name, f)
		}
	}
}

// A part may saturate softly; that is for the reading to say, not clipping.
func TestSmoothSaturationIsNotClipping(t *testing.T) {
	diode := func(u float64) float64 { // series resistor and junction, by Newton steps
		v := 0.0
		for k := 0; k < 60; k++ {
			i := 1e-6 * math.Exp(v/0.05)
			v -= 0.7 * (v + i - u) / (1 + i/0.05)
		}
		return v
	}
	for name, curve := range map[string]func(float64) float64{
		"third harmonic at -20 dB":  func(u float64) float64 { return u - 0.31*u*u*u },
		"hyperbolic tangent":        func(u float64) float64 { return math.Tanh(2 * u) },
		"hard hyperbolic tangent":   func(u float64) float64 { return math.Tanh(4 * u) },
		"arc tangent":               func(u float64) float64 { return math.Atan(3 * u) },
		"junction":                  diode,
		"capacitor of two halves":   func(u float64) float64 { return u / math.Sqrt(1+4*u*u) },
		"crossover, steep at first": func(u float64) float64 { return u * u * u },
	} {
		for _, snr := range []float64{40, 70, 100} {
			r := testkit.SteadyBase(1030, snr)
			r.Amp = [2]float64{1, 1}
			r.Shape = func(_ int, _, v float64) float64 { return curve(v) }
			if f := clippingIn(t, r, 1); f.Clipped {
				t.Errorf("%s, %g dB: %+v", name, snr, f)
			}
		}
	}
}

func TestSoundStretchBesideClipping(t *testing.T) {
	r := testkit.SteadyBase(1030, 80)
	r.Bits = 16
	r.Shape = func(_ int, t, v float64) float64 {
		if t > 0.1 && t < 0.15 {
			return 2.2 * v
		}
		return v
	}
	f := clippingIn(t, r, 3)
	if !f.Clipped || testkit.AbsInt(f.First-4800) > 60 || testkit.AbsInt(f.End-7200) > 60 || testkit.AbsInt(f.SoundFirst-7200) > 60 || f.SoundEnd != 21600 {
		t.Errorf("overload from 0.1 to 0.15 s: %+v", f)
	}
}

func TestClippingTakesAnyInput(t *testing.T) {
	ramp := make([]float64, 100)
	for i := range ramp {
		ramp[i] = float64(i)
	}
	for name, c := range map[string][2][]float64{
		"empty": {}, "short": {{1}, {1}}, "unequal": {ramp, ramp[:50]}, "silence": {make([]float64, 100), make([]float64, 100)}, "no tone": {ramp, make([]float64, 100)},
	} {
		if f := FindClipping(c[0], c[0], c[1], 16); f.T != 0 || f.Depth != 0 {
			t.Errorf("%s: %+v", name, f)
		}
	}
}

func TestClipFindings(t *testing.T) {
	nan := math.NaN()
	for want, c := range map[string]ClipFigures{
		"at full scale":                  {AtFullScale: 30, Fraction: 0.1, Top: 1, Bottom: -1},
		"flat at +0.4500 of full scale":  {Depth: 0.1, Fraction: 0.1, Top: 0.45, Bottom: nan},
		"stop at -0.4500 of full scale":  {AtExtreme: 30, Fraction: 0.1, Top: nan, Bottom: -0.45},
		"+0.4500 and -0.4400 of full sc": {Depth: 0.1, Fraction: 0.1, Top: 0.45, Bottom: -0.44},
	} {
		f := c.Finding(1, 480, 48000, want == "at full scale")
		if !strings.Contains(f.Detail, want) || !strings.Contains(f.Detail, "10 % of the samples") || f.Channel != 2 || *f.AtS != 0.01 {
			t.Errorf("%+v", f)
		}
		if fmt.Sprint(f.Severity) != map[bool]string{true: "warning", false: "invalid"}[want == "at full scale"] {
			t.Errorf("severity %s", f.Severity)
		}
	}
}

func BenchmarkFindClipping(b *testing.B) {
	r := testkit.SteadyBase(1030, 80)
	r.Seconds = 1
	x := r.Make(1)[0]
	tone := fittedTones(b, x, r)
	b.ReportAllocs()
	for b.Loop() {
		FindClipping(x, x, tone, 24)
	}
}
