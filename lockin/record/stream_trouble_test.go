package record

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/internal/drawnjig"
	"example.org/wheatear/lockin/internal/testkit"
)

// streamed makes a record of one tone as a sound system hands it over.
func streamed(t *testing.T, rateHz, freqHz float64, seed uint64, spoil ...drawnjig.Spoil) *Analysis {
	t.Helper()
	rng := rand.New(rand.NewPCG(seed, 3))
	r := drawnjig.Record{RateHz: rateHz, Seconds: 0.9, Before: 0.15, After: 0.05, FadeS: 0.01,
		Tones: []drawnjig.Tone{{FreqHz: freqHz, Amplitude: 0.4, Phase: 6 * rng.Float64()}}, Noise: [2]float64{2e-5, 2e-5},
		Hear: func(hz float64) [2]complex128 { return [2]complex128{1, 0.4 - 0.3i} }, Spoil: spoil}
	a, err := Analyze(Signal{RateHz: rateHz, Channels: r.Samples(rng)}, Config{TonesHz: []float64{freqHz}, MainsHz: 50})
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// severityOf is the severity of a code, "" where it is not there.
func severityOf(a *Analysis, code finding.Code) finding.Severity {
	var of []finding.Finding
	for _, f := range a.Findings {
		if f.Code == code {
			of = append(of, f)
		}
	}
	return finding.Worst(of)
}

// A clock that is steered in steps loses no samples: it is a conversion of the rate, and
// harmless while its steps are small.
func TestSteeredClockIsNoDropout(t *testing.T) {
	if testing.Short() {
		t.Skip("arithmetic of one goroutine; the whole run has it")
	}
	for _, c := range []struct {
		ppm  float64
		want []finding.Severity
	}{{3, []finding.Severity{"", finding.Note}}, {30, []finding.Severity{finding.Note}}, {60, []finding.Severity{finding.Note}}, {500, []finding.Severity{finding.Warning}}} {
		for seed, hz := range []float64{440, 1000, 3150, 9973} {
			a := streamed(t, 48000, hz, uint64(seed), drawnjig.Steer(0.0213, c.ppm))
			got, ok := severityOf(a, finding.Resampled), false
			for _, w := range c.want {
				ok = ok || got == w
			}
			if !ok || severityOf(a, finding.Dropout) != "" || finding.Worst(a.Findings) == finding.Invalid {
				t.Errorf("%g ppm at %g Hz: %+v", c.ppm, hz, a.Findings)
			}
		}
	}
}

// Losses stay what they are, whatever the period of the tone.
func TestLossesAreStillDropouts(t *testing.T) {
	for seed, c := range []struct {
		hz   float64
		lost int
	}{{1000, 7}, {1000, 470}, {997.3, 480}, {997.3, 64}, {3150, 441}, {9973, 128}, {50, 300}} {
		a := streamed(t, 48000, c.hz, uint64(seed), drawnjig.Lose(0.6, c.lost))
		if severityOf(a, finding.Dropout) == "" {
			t.Errorf("%d samples of %g Hz: %+v", c.lost, c.hz, a.Findings)
		}
	}
}

// A quiet tone on the coarse stairs of a record without dither has equal extremes of its
// own: nothing is clipped. Peaks that are cut are.
func TestQuietStairsAreNotClipped(t *testing.T) {
	for seed := range uint64(12) {
		spoil := []drawnjig.Spoil{drawnjig.Gain(func(ch int, _ float64) float64 {
			return []float64{1, float64(1+seed) * 0.7 / 32768 / 0.2}[ch]
		}), drawnjig.Round(16, false)}
		if a := streamed(t, 48000, 1000, seed, spoil...); severityOf(a, finding.Clipped) != "" {
			t.Errorf("%d: %+v", seed, a.Findings)
		}
	}
	spoil := []drawnjig.Spoil{drawnjig.Clip([2]float64{0.39, 0}), drawnjig.Round(16, false)}
	if a := streamed(t, 48000, 1000, 1, spoil...); severityOf(a, finding.Clipped) != finding.Invalid {
		t.Errorf("cut peaks: %+v", a.Findings)
	}
}

// An automatic gain is named once, and nothing of what it makes of the record beside it.
func TestAutomaticGainIsNamedOnce(t *testing.T) {
	if testing.Short() {
		t.Skip("arithmetic of one goroutine; the whole run has it")
	}
	for seed := range uint64(6) {
		g := drawnjig.GainControl{Target: 0.2, AttackS: 0.02, DecayS: 0.3, Strength: 0.7, MostDB: 20, Zeros: seed%2 == 0}
		a := streamed(t, 48000, 1000, seed, g.Spoil())
		named := 0
		for _, f := range a.Findings {
			switch f.Code {
			case finding.AutoGain:
				named++
			case finding.Unsettled, finding.Dropout:
				t.Errorf("%d: also %+v", seed, f)
			}
		}
		if named != 1 || severityOf(a, finding.AutoGain) != finding.Invalid {
			t.Errorf("%d: %+v", seed, a.Findings)
		}
	}
}

// An automatic gain that both inputs share leaves their ratio alone: it is a warning, and
// the ratio is bounded closely, at 120 Hz and with a gate as well. Gains of each input by
// itself are invalid.
func TestSharedGainIsAWarning(t *testing.T) {
	testkit.NotShort(t)
	var shared, own, close, invalid int
	for seed := range uint64(20) {
		rng := rand.New(rand.NewPCG(seed, 5))
		g := drawnjig.DrawGainControl(rng)
		g.Linked = seed%2 == 0
		part := cmplx.Rect(drawnjig.Between(rng, 0.1, 0.8), 6*rng.Float64())
		r := drawnjig.Record{RateHz: 24000, Seconds: 0.8, Before: 0.15, After: 0.05, FadeS: 0.01,
			Tones: []drawnjig.Tone{{FreqHz: drawnjig.Between(rng, 120, 2000), Amplitude: 0.5}}, Noise: [2]float64{2e-5, 2e-5},
			Hear: func(hz float64) [2]complex128 { return [2]complex128{1, part} }, Spoil: []drawnjig.Spoil{g.Spoil()}}
		a, err := Analyze(Signal{RateHz: r.RateHz, Channels: r.Samples(rng)}, Config{TonesHz: []float64{r.Tones[0].FreqHz}, NoMains: true})
		if err != nil {
			t.Fatal(err)
		}
		f := findingOf(a, finding.AutoGain)
		switch {
		case f == nil: // within its limits all the time, or settled as the tone comes up
		case g.Linked:
			shared++
			if a.Tones[0].RatioHalf < 5e-3 && f.Severity == finding.Warning {
				close++
			} else {
				t.Logf("%d: %.4g Hz, %+v: %+v, half %.2g", seed, r.Tones[0].FreqHz, g, f, a.Tones[0].RatioHalf)
			}
		default:
			own++
			if f.Severity == finding.Invalid {
				invalid++
			}
		}
	}
	if shared < 6 || close < shared-1 {
		t.Errorf("%d of %d gains shared are read closely", close, shared)
	}
	if own < 6 || invalid < own {
		t.Errorf("%d of %d gains of one input each are invalid", invalid, own)
	}
}

// Hum near the level of the weak channel moves no ratio.
func TestHumIsNoMovement(t *testing.T) {
	if testing.Short() {
		t.Skip("arithmetic of one goroutine; the whole run has it")
	}
	for seed := range uint64(10) {
		rng := rand.New(rand.NewPCG(seed, 4))
		r := drawnjig.Record{RateHz: 48000, Seconds: 0.9, Before: 0.15, After: 0.05, FadeS: 0.01,
			Tones: []drawnjig.Tone{{FreqHz: []float64{120, 333, 1000, 5000}[seed%4], Amplitude: 0.4}}, Noise: [2]float64{2e-5, 2e-5},
			Hear: func(hz float64) [2]complex128 { return [2]complex128{1, []complex128{0.003i, 0.05, 0.5}[seed%3]} },
			Hum:  drawnjig.DrawHum(rng, []float64{1e-3, 0.02, 0.2}[seed%3])}
		a, err := Analyze(Signal{RateHz: 48000, Channels: r.Samples(rng)}, Config{TonesHz: []float64{r.Tones[0].FreqHz}})
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range a.Findings {
			if f.Code == finding.Unsettled && f.Severity == finding.Invalid || f.Code == finding.AutoGain {
				t.Errorf("%d: %+v", seed, f)
			}
		}
	}
}

// An input that bends makes lines beside the tone of it and hum; its harmonics, which tell
// of the bend, are fitted nevertheless.
func TestHarmonicsBesideMixedHum(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 6))
	bend := func(v float64) float64 { return math.Tanh(1.5*v) / 1.5 }
	r := drawnjig.Record{RateHz: 24000, Seconds: 0.4, Before: 0.1, After: 0.05, FadeS: 0.01,
		Tones: []drawnjig.Tone{{FreqHz: 663, Amplitude: 0.4}}, Noise: [2]float64{1e-5, 1e-5},
		Hear: func(float64) [2]complex128 { return [2]complex128{1, 0.3} },
		Hum:  drawnjig.DrawHum(rng, 0.05), Curve: [2]func(float64) float64{bend, bend}}
	a := analyzed(t, Signal{RateHz: r.RateHz, Channels: r.Samples(rng)}, Config{TonesHz: []float64{663}})
	h := a.Tones[0].Harmonics[0][1] / a.Tones[0].Phasors[0]
	// tanh: a third harmonic of (kA)²/12 for small kA (its series; 4.5.64 of Abramowitz
	// and Stegun, from memory).
	if got, want := cmplx.Abs(h), 0.36/12; math.Abs(got/want-1) > 0.25 {
		t.Errorf("third harmonic %.3g of the tone, want about %.3g", got, want)
	}
}
