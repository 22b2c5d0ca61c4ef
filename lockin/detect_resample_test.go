package lockin

import (
	"example.org/wheatear/lockin/finding"
	"math"
	"strings"
	"testing"
)

// noiseRecord makes two channels with a tone, and their residuals.
func noiseRecord(seed uint64, rateHz, seconds, sigma float64, pink bool) (x, noise [][]float64) {
	r := simRecord{rateHz: rateHz, seconds: seconds, noise: [2]float64{sigma, sigma}, pink: pink}
	noise = r.make(seed)
	x = make([][]float64, 2)
	for ch := range x {
		x[ch] = make([]float64, len(noise[ch]))
		for i, v := range noise[ch] {
			x[ch][i] = v + 0.4*math.Sin(2*math.Pi*1030*float64(i)/rateHz)
		}
	}
	return x, noise
}

// interpolate converts samples by the ratio old/new with the given kernel, whose
// half-width in old samples is reach.
func interpolate(x []float64, ratio float64, reach int, kernel func(d float64) float64) []float64 {
	var out []float64
	for n := 0; ; n++ {
		at := float64(reach) + float64(n)*ratio
		i := int(at)
		if i+reach >= len(x) {
			return out
		}
		v := 0.0
		for k := i - reach + 1; k <= i+reach; k++ {
			v += x[k] * kernel(at-float64(k))
		}
		out = append(out, v)
	}
}

func linearKernel(d float64) float64 { return math.Max(0, 1-math.Abs(d)) }

// cubicKernel is the usual third-order convolution with slope −½ (R. G. Keys, IEEE
// Trans. ASSP 29 (1981) 1153).
func cubicKernel(d float64) float64 {
	d = math.Abs(d)
	switch {
	case d < 1:
		return 1.5*d*d*d - 2.5*d*d + 1
	case d < 2:
		return -0.5*d*d*d + 2.5*d*d - 4*d + 2
	}
	return 0
}

// sincKernel is a windowed sinc that passes up to part of half the old rate.
func sincKernel(part float64) func(d float64) float64 {
	return func(d float64) float64 {
		if d == 0 {
			return part
		}
		w := 1 - d*d/1024 // Welch
		return w * math.Sin(math.Pi*part*d) / (math.Pi * d)
	}
}

func checkOwnRate(t *testing.T, trials int) {
	for _, c := range []struct {
		name string
		pink bool
		bits int
		rate float64
	}{{"white", false, 0, 48000}, {"pink", true, 0, 44100}, {"16 bits", false, 16, 48000}, {"24 bits", false, 24, 44100}, {"96 kHz", false, 24, 96000}} {
		alarms := 0
		for i := 0; i < trials; i++ {
			x, noise := noiseRecord(uint64(i), c.rate, 0.5, 3e-5, c.pink)
			for ch := range x {
				for k, v := range x[ch] {
					x[ch][k] = round(v, c.bits)
					noise[ch][k] += x[ch][k] - v
				}
			}
			if r := findResampling(x, noise, c.rate, []float64{1030}); r.Resampled {
				t.Logf("%s: %+v", c.name, r)
				alarms++
			}
		}
		if alarms > chance(trials, 1e-4) {
			t.Errorf("%s: %d of %d records at their own rate called resampled", c.name, alarms, trials)
		}
	}
}

func TestOwnRateIsNotResampled(t *testing.T) { checkOwnRate(t, 4) }

func TestSoakOwnRateIsNotResampled(t *testing.T) {
	needSoak(t)
	checkOwnRate(t, 600)
}

func TestResampledRecordsAreFound(t *testing.T) {
	notShort(t)
	for _, c := range []struct {
		name     string
		from, to float64
		reach    int
		kernel   func(float64) float64
		tells    bool // the rate before
	}{
		{"linear 44.1 to 48", 44100, 48000, 1, linearKernel, true},
		{"cubic 44.1 to 48", 44100, 48000, 2, cubicKernel, true},
		{"sinc 44.1 to 48", 44100, 48000, 32, sincKernel(0.95), false},
		{"linear 48 to 44.1", 48000, 44100, 1, linearKernel, true},
		{"sinc 48 to 96", 48000, 96000, 32, sincKernel(0.95), false},
		{"linear, clocks 100 ppm apart", 44100 * 1.0001, 48000, 1, linearKernel, true},
	} {
		for seed := uint64(0); seed < 2; seed++ {
			x, noise := noiseRecord(seed, c.from, 0.4, 1e-4, false)
			for ch := range x {
				x[ch] = interpolate(x[ch], c.from/c.to, c.reach, c.kernel)
				noise[ch] = interpolate(noise[ch], c.from/c.to, c.reach, c.kernel)
				for i := range x[ch] {
					x[ch][i] = round(x[ch][i], 24)
				}
			}
			r := findResampling(x, noise, c.to, []float64{1030})
			if !r.Resampled || c.tells && math.Abs(r.FromHz-c.from) > 1e-3*c.from {
				t.Errorf("%s: %+v", c.name, r)
			}
			if f, ok := r.finding(); !ok || f.Severity != finding.Warning || !strings.Contains(f.Detail, "converted the rate") {
				t.Errorf("%s: %+v", c.name, f)
			}
		}
	}
}

func TestRecordsWithoutNoiseSayNothingOfTheirRate(t *testing.T) {
	x, noise := noiseRecord(1, 48000, 0.5, 0, false)
	if r := findResampling(x, noise, 48000, []float64{1030}); r.Resampled || !math.IsNaN(r.TopDB) {
		t.Errorf("floating point: %+v", r)
	}
	for ch := range x {
		for i, v := range x[ch] {
			x[ch][i] = round(v, 16)
			noise[ch][i] = x[ch][i] - v
		}
	}
	if r := findResampling(x, noise, 48000, []float64{1000}); r.Resampled {
		t.Errorf("16 bits: %+v", r)
	}
	if r := findResampling(nil, nil, 48000, nil); r.Resampled {
		t.Errorf("nothing: %+v", r)
	}
	if _, ok := (resampleFigures{}).finding(); ok {
		t.Error("nothing seen, yet a finding")
	}
}

func BenchmarkFindResampling(b *testing.B) {
	x, noise := noiseRecord(1, 48000, 1, 1e-4, false)
	for b.Loop() {
		findResampling(x, noise, 48000, []float64{1030})
	}
}
