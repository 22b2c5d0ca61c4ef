package record

import (
	"fmt"
	"math"
	"math/rand/v2"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/internal/testkit"
	"path/filepath"
	"strings"
	"testing"
)

// converted runs a record to another rate and back, as a sound server does between a
// program and a card.
func converted(x [][]float64, rateHz, otherHz float64, reach int, kernel func(float64) float64) [][]float64 {
	out := make([][]float64, len(x))
	for ch := range x {
		out[ch] = testkit.Interpolate(x[ch], rateHz/otherHz, reach, kernel)
		out[ch] = testkit.Interpolate(out[ch], otherHz/rateHz, reach, kernel)
	}
	return out
}

func TestRecordingsThroughASoundServerAreResampled(t *testing.T) {
	for file, from := range map[string]string{"resampled-44100-to-48000.wav": "44100 Hz", "resampled-48000-to-44100.wav": "48000 Hz"} {
		x, rate := testkit.ReadRecording(t, filepath.Join("testdata", file))
		a := analyzed(t, Signal{RateHz: rate, Channels: x, Bits: 24}, Config{TonesHz: []float64{1000}})
		if f := findingOf(a, finding.Resampled); f == nil || f.Severity != finding.Warning || !strings.Contains(f.Detail, from) || !strings.Contains(f.Detail, "2900 and 4900 Hz") {
			t.Errorf("%s: %v", file, a.Findings)
		}
	}
}

func TestImagesTellTheOtherRate(t *testing.T) {
	testkit.NotShort(t)
	for _, c := range []struct {
		name       string
		rate, from float64
		tones      []float64
		reach      int
		kernel     func(float64) float64
	}{
		{"straight lines through 44.1", 48000, 44100, []float64{1000}, 1, testkit.LinearKernel},
		{"straight lines through 48", 44100, 48000, []float64{1000}, 1, testkit.LinearKernel},
		{"cubic through 44.1", 48000, 44100, []float64{997}, 2, testkit.CubicKernel},
		{"cubic, three tones", 48000, 44100, []float64{100, 1000, 10000}, 2, testkit.CubicKernel},
		{"sinc of 64 samples", 48000, 44100, []float64{9000}, 32, testkit.SincKernel(0.9)},
		{"96 kHz card on a server at 44.1", 96000, 44100, []float64{1000}, 2, testkit.CubicKernel},
		{"clocks 100 ppm apart", 48000, 44100 * 1.0001, []float64{1030}, 2, testkit.CubicKernel},
		{"through 32", 48000, 32000, []float64{1030}, 2, testkit.CubicKernel},
	} {
		r := testkit.Record{RateHz: c.rate, Seconds: 0.5, TonesHz: c.tones, Amp: [2]float64{0.2, 0.1}, Noise: [2]float64{1e-6, 1e-6}, Bits: 24}
		x := converted(r.Make(3), c.rate, c.from, c.reach, c.kernel)
		a := analyzed(t, Signal{RateHz: c.rate, Channels: x}, Config{TonesHz: c.tones})
		want := fmt.Sprintf("and %g Hz", math.Round(c.from/100)*100)
		if f := findingOf(a, finding.Resampled); f == nil || !strings.Contains(f.Detail, want) {
			t.Errorf("%s: %v", c.name, a.Findings)
		}
	}
}

// lines adds sinusoids, hertz and amplitude in turn, with the phase of their place.
func lines(x [][]float64, rateHz float64, list ...float64) {
	for ch := range x {
		for i := range x[ch] {
			for l := 0; l < len(list); l += 2 {
				x[ch][i] += list[l+1] * math.Cos(2*math.Pi*list[l]/rateHz*float64(i)+float64(l*l))
			}
		}
	}
}

// A pair 20 dB above the noise of a bin, 4σ²/N, is found; one that is not a pair, or
// not of a rate in use, is nothing.
func TestImagesAtTheEdge(t *testing.T) {
	testkit.NotShort(t)
	const sigma, seconds, rate = 1e-4, 0.5, 48000.0
	level := math.Sqrt(math.Pow(10, 2) * 4 * sigma * sigma / (seconds * rate))
	for _, c := range []struct {
		name  string
		found bool
		list  []float64
	}{
		{"both", true, []float64{2870, level, 4930, level}},
		{"one", false, []float64{2870, 2 * level}},
		{"no pair of a rate", false, []float64{2470, 2 * level, 4530, 2 * level}},
		{"both and the difference of the rates: a modulation", false, []float64{2870, level, 4930, level, 3900, level}},
		{"both and the next overtones", false, []float64{2870, level, 4930, level, 6990, level}},
		{"a comb of 50 Hz", false, evenLines(50, 2870, 5000, level)},
		{"a comb of 206 Hz", false, evenLines(206, 2870-10*206, 8000, level)},
	} {
		found := 0
		for seed := uint64(0); seed < 5; seed++ {
			r := testkit.Record{RateHz: rate, Seconds: seconds, TonesHz: []float64{1030}, Amp: [2]float64{0.2, 0.1}, Noise: [2]float64{sigma, sigma}}
			x := r.Make(seed)
			lines(x, rate, c.list...)
			if findingOf(analyzed(t, Signal{RateHz: rate, Channels: x}, Config{TonesHz: []float64{1030}}), finding.Resampled) != nil {
				found++
			}
		}
		if c.found && found < 5 || !c.found && found > 0 {
			t.Errorf("%s: found in %d of 5 records", c.name, found)
		}
	}
}

func evenLines(step, from, to, level float64) (list []float64) {
	for hz := from; hz < to; hz += step {
		list = append(list, hz, level)
	}
	return list
}

// checkNoImages draws records at their own rate, with everything that has lines: hum,
// overtones, products of two tones, rounding without noise, peaks cut off.
func checkNoImages(t *testing.T, trials int) {
	alarms := 0
	for i := range trials {
		rng := rand.New(rand.NewPCG(11, uint64(i)))
		r := testkit.Record{RateHz: []float64{44100, 48000, 96000}[rng.IntN(3)], Seconds: 0.1 + 0.4*rng.Float64(), Amp: [2]float64{0.3, 0.2},
			Pink: rng.IntN(2) == 0, HumHz: 50, Hum: 1e-3 * rng.Float64(), Bits: []int{0, 16, 24}[rng.IntN(3)]}
		for k := range 1 + rng.IntN(3) {
			r.TonesHz = append(r.TonesHz, math.Round(100*math.Pow(5.5, float64(k)+0.8*rng.Float64())))
		}
		sigma := 1e-7 * math.Pow(1000, rng.Float64())
		r.Noise = [2]float64{sigma, sigma}
		bend, stop := 0.1*rng.Float64(), 0.05+rng.Float64()
		if i%3 == 0 {
			r.Shape = func(_ int, _, v float64) float64 {
				return math.Max(-stop, math.Min(stop, v+bend*v*v+bend*v*v*v))
			}
		}
		a, err := Analyze(Signal{RateHz: r.RateHz, Channels: r.Make(uint64(i)), Bits: r.Bits}, Config{TonesHz: r.TonesHz})
		if err != nil {
			t.Fatal(err)
		}
		if f := findingOf(a, finding.Resampled); f != nil {
			alarms++
			t.Logf("%d: %+v stop %.2f: %s", i, r.TonesHz, stop, f.Detail)
		}
	}
	if alarms > testkit.Chance(trials, 1e-3) {
		t.Errorf("%d of %d records at their own rate have images", alarms, trials)
	}
}

func TestNoImagesAtTheOwnRate(t *testing.T) {
	testkit.NotShort(t)
	checkNoImages(t, 12)
}

func TestSoakNoImagesAtTheOwnRate(t *testing.T) {
	testkit.NeedSoak(t)
	checkNoImages(t, 1000)
}
