package trouble

import (
	"math"
	"strings"
	"testing"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/internal/testkit"
)

// noiseRecord makes two channels with a tone, and their residuals.
func noiseRecord(seed uint64, rateHz, seconds, sigma float64, pink bool) (x, noise [][]float64) {
	r := testkit.Record{RateHz: rateHz, Seconds: seconds, Noise: [2]float64{sigma, sigma}, Pink: pink}
	noise = r.Make(seed)
	x = make([][]float64, 2)
	for ch := range x {
		x[ch] = make([]float64, len(noise[ch]))
		for i, v := range noise[ch] {
			x[ch][i] = v + 0.4*math.Sin(2*math.Pi*1030*float64(i)/rateHz)
		}
	}
	return x, noise
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
					x[ch][k] = testkit.Round(v, c.bits)
					noise[ch][k] += x[ch][k] - v
				}
			}
			if r := FindResampling(x, noise, c.rate, []float64{1030}); r.Resampled {
				t.Logf("%s: %+v", c.name, r)
				alarms++
			}
		}
		if alarms > testkit.Chance(trials, 1e-4) {
			t.Errorf("%s: %d of %d records at their own rate called resampled", c.name, alarms, trials)
		}
	}
}

func TestOwnRateIsNotResampled(t *testing.T) { checkOwnRate(t, 4) }

func TestSoakOwnRateIsNotResampled(t *testing.T) {
	testkit.NeedSoak(t)
	checkOwnRate(t, 600)
}

func TestResampledRecordsAreFound(t *testing.T) {
	testkit.NotShort(t)
	for _, c := range []struct {
		name     string
		from, to float64
		reach    int
		kernel   func(float64) float64
		tells    bool // the rate before
	}{
		{"linear 44.1 to 48", 44100, 48000, 1, testkit.LinearKernel, true},
		{"cubic 44.1 to 48", 44100, 48000, 2, testkit.CubicKernel, true},
		{"sinc 44.1 to 48", 44100, 48000, 32, testkit.SincKernel(0.95), false},
		{"linear 48 to 44.1", 48000, 44100, 1, testkit.LinearKernel, true},
		{"sinc 48 to 96", 48000, 96000, 32, testkit.SincKernel(0.95), false},
		{"linear, clocks 100 ppm apart", 44100 * 1.0001, 48000, 1, testkit.LinearKernel, true},
	} {
		for seed := uint64(0); seed < 2; seed++ {
			x, noise := noiseRecord(seed, c.from, 0.4, 1e-4, false)
			for ch := range x {
				x[ch] = testkit.Interpolate(x[ch], c.from/c.to, c.reach, c.kernel)
				noise[ch] = testkit.Interpolate(noise[ch], c.from/c.to, c.reach, c.kernel)
				for i := range x[ch] {
					x[ch][i] = testkit.Round(x[ch][i], 24)
				}
			}
			r := FindResampling(x, noise, c.to, []float64{1030})
			if !r.Resampled || c.tells && math.Abs(r.FromHz-c.from) > 1e-3*c.from {
				t.Errorf("%s: %+v", c.name, r)
			}
			if f, ok := r.Finding(); !ok || f.Severity != finding.Warning || !strings.Contains(f.Detail, "converted the rate") {
				t.Errorf("%s: %+v", c.name, f)
			}
		}
	}
}

func TestRecordsWithoutNoiseSayNothingOfTheirRate(t *testing.T) {
	x, noise := noiseRecord(1, 48000, 0.5, 0, false)
	if r := FindResampling(x, noise, 48000, []float64{1030}); r.Resampled || !math.IsNaN(r.TopDB) {
		t.Errorf("floating point: %+v", r)
	}
	for ch := range x {
		for i, v := range x[ch] {
			x[ch][i] = testkit.Round(v, 16)
			noise[ch][i] = x[ch][i] - v
		}
	}
	if r := FindResampling(x, noise, 48000, []float64{1000}); r.Resampled {
		t.Errorf("16 bits: %+v", r)
	}
	if r := FindResampling(nil, nil, 48000, nil); r.Resampled {
		t.Errorf("nothing: %+v", r)
	}
	if _, ok := (resampleFigures{}).Finding(); ok {
		t.Error("nothing seen, yet a finding")
	}
}

func BenchmarkFindResampling(b *testing.B) {
	x, noise := noiseRecord(1, 48000, 1, 1e-4, false)
	for b.Loop() {
		FindResampling(x, noise, 48000, []float64{1030})
	}
}
