package lockin

import (
	"errors"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"strings"
	"sync"
	"testing"
)

// fitRecord has three tones that share no clock, a harmonic, hum, an offset and noise.
func fitRecord(frames int) (x [][]float64, hz []float64, want [][2]complex128) {
	rng := rand.New(rand.NewPCG(3, 9))
	hz = []float64{316 * (1 + 20e-6), 1000.7 * (1 - 35e-6), 5000 * (1 + 4e-6)}
	want = [][2]complex128{{cmplx.Rect(0.2, 0.3), cmplx.Rect(0.1, -1)}, {cmplx.Rect(0.3, 2), cmplx.Rect(0.25, 1.2)}, {cmplx.Rect(0.05, -0.4), cmplx.Rect(0.02, 3)}}
	middle := float64(frames-1) / 2
	x = [][]float64{make([]float64, frames), make([]float64, frames)}
	for ch := range x {
		for i := range frames {
			t := (float64(i) - middle) / 48000
			v := 0.01 + 0.003*math.Cos(2*math.Pi*50.02*t+1) + 0.001*math.Cos(2*math.Pi*150.06*t) + 1e-4*rng.NormFloat64()
			for k, f := range hz {
				v += real(want[k][ch] * cmplx.Rect(1, 2*math.Pi*f*t))
			}
			x[ch][i] = v + 1e-3*math.Cos(2*math.Pi*2*hz[1]*t)
		}
	}
	return x, hz, want
}

func TestFitFindsTonesInOrder(t *testing.T) {
	x, hz, want := fitRecord(48000)
	order := []int{2, 0, 1}
	nominal := []float64{5000, 316, 1000.7}
	e, err := Fit(Planar(x...), 48000, FitConfig{TonesHz: nominal, Whole: true})
	if err != nil {
		t.Fatal(err)
	}
	if e.First != 0 || e.End != 48000 || e.Origin != 23999.5 || len(e.Tones) != 3 {
		t.Fatalf("[%d, %d), origin %g, %d tones", e.First, e.End, e.Origin, len(e.Tones))
	}
	for i, tone := range e.Tones {
		k := order[i]
		if tone.NominalHz != nominal[i] || math.Abs(tone.FreqHz-hz[k]) > 6*tone.FreqUHz+1e-9 {
			t.Errorf("tone %d: nominal %g, %.6f ± %.2g Hz, want %.6f", i, tone.NominalHz, tone.FreqHz, tone.FreqUHz, hz[k])
		}
		for ch, a := range tone.Phasors {
			u := math.Sqrt(tone.Cov.At(2*ch, 2*ch))
			if d := cmplx.Abs(a - want[k][ch]); d > 6*u || u > 1e-5 || !tone.Detected[ch] {
				t.Errorf("tone %d, channel %d: off by %.2g, u %.2g, detected %v", i, ch, d, u, tone.Detected[ch])
			}
		}
	}
	if h := cmplx.Abs(e.Tones[2].Harmonics[0][0]); math.Abs(h-1e-3) > 1e-5 {
		t.Errorf("second harmonic %.4g, want 1e-3", h)
	}
	if len(e.Lines) < 2 || math.Abs(e.Lines[0].FreqHz-50.02) > 0.01 || math.Abs(cmplx.Abs(e.Lines[0].Phasors[0])-0.003) > 1e-4 {
		t.Errorf("mains lines %+v", e.Lines)
	}
	for ch, v := range e.Offset {
		if math.Abs(v-0.01) > 1e-4 || math.Abs(e.NoiseRMS[ch]/1e-4-1) > 0.05 {
			t.Errorf("channel %d: offset %g, noise %g", ch, v, e.NoiseRMS[ch])
		}
	}
}

// Record less model is the residual: noise of the rms stated, over the whole record and
// in pieces.
func TestModelAndResidualMakeTheRecord(t *testing.T) {
	x, hz, _ := fitRecord(48001)
	e, err := Fit(Planar(x...), 48000, FitConfig{TonesHz: hz, Whole: true})
	if err != nil {
		t.Fatal(err)
	}
	whole := make([]float64, len(x[0]))
	for ch := range x {
		e.Model(whole, ch, 0)
		sum, n := 0.0, 0.0
		for i := range whole {
			d := x[ch][i] - whole[i]
			sum, n = sum+d*d, n+1
		}
		if rms := math.Sqrt(sum / n); math.Abs(rms/e.NoiseRMS[ch]-1) > 1e-6 {
			t.Errorf("channel %d: residual %.8g rms, NoiseRMS %.8g", ch, rms, e.NoiseRMS[ch])
		}
		piece := make([]float64, 777)
		for _, first := range []int{0, 1, 100, 47_000} {
			e.Model(piece, ch, first)
			for i, v := range piece {
				if first+i < len(whole) && math.Abs(v-whole[first+i]) > 1e-12 {
					t.Fatalf("channel %d, frame %d: %g in a piece, %g in the whole", ch, first+i, v, whole[first+i])
				}
			}
		}
	}
}

// In silence, and in noise, every tone that was asked for is there, and not Detected.
func TestFitOfSilence(t *testing.T) {
	tones := []float64{2000, 1000, 3000}
	noise := make([]float64, 9600)
	rng := rand.New(rand.NewPCG(1, 1))
	for i := range noise {
		noise[i] = 0.1 * rng.NormFloat64()
	}
	for name, x := range map[string][]float64{"silence": make([]float64, 9600), "noise": noise} {
		for _, whole := range []bool{false, true} {
			e, err := Fit(Planar(x, x), 48000, FitConfig{TonesHz: tones, Whole: whole})
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			if len(e.Tones) != 3 {
				t.Fatalf("%s: %d tones, want 3", name, len(e.Tones))
			}
			for i, tone := range e.Tones {
				if tone.NominalHz != tones[i] || tone.Detected[0] || tone.Detected[1] || len(tone.Phasors) != 2 || len(tone.Harmonics[1]) != 4 {
					t.Errorf("%s: tone %d is %+v", name, i, tone)
				}
			}
			m := make([]float64, 100)
			e.Model(m, 1, 0)
			for _, v := range m {
				if math.Abs(v) > 0.03 {
					t.Fatalf("%s: the model holds %g", name, v)
				}
			}
		}
	}
	if e, err := Fit(Planar(make([]float64, 9600)), 48000, FitConfig{}); err != nil || len(e.Tones) != 0 {
		t.Errorf("silence, nothing asked for: %v, %v", e, err)
	}
}

// Common, Exact and NoMains are what they say.
func TestFitClocks(t *testing.T) {
	x, hz, _ := fitRecord(48000)
	common, err := Fit(Planar(x...), 48000, FitConfig{TonesHz: hz, Common: true, Whole: true})
	if err != nil {
		t.Fatal(err)
	}
	ratio := common.Tones[0].FreqHz / hz[0]
	for i, tone := range common.Tones {
		if math.Abs(tone.FreqHz/hz[i]/ratio-1) > 1e-12 {
			t.Errorf("Common: tone %d has a clock of its own", i)
		}
	}
	exact, err := Fit(Planar(x...), 48000, FitConfig{TonesHz: hz, Exact: true, Whole: true, NoMains: true})
	if err != nil {
		t.Fatal(err)
	}
	for i, tone := range exact.Tones {
		if tone.FreqHz != hz[i] {
			t.Errorf("Exact: tone %d at %.9g Hz, want %.9g", i, tone.FreqHz, hz[i])
		}
	}
	if len(exact.Lines) != 0 {
		t.Errorf("NoMains: %d lines", len(exact.Lines))
	}
}

// int16 samples, interleaved, and several goroutines at once.
func TestFitOfAnyTypeAtOnce(t *testing.T) {
	x, hz, want := fitRecord(24000)
	flat := make([]int16, 0, 48000)
	for i := range x[0] {
		flat = append(flat, int16(math.Round(32768*x[0][i])), int16(math.Round(32768*x[1][i])))
	}
	var wg sync.WaitGroup
	for range 3 {
		wg.Go(func() {
			e, err := Fit(Interleaved(flat, 2), 48000, FitConfig{TonesHz: hz, Whole: true})
			if err != nil {
				t.Error(err)
				return
			}
			for k, tone := range e.Tones {
				if d := cmplx.Abs(tone.Phasors[1] - want[k][1]); d > 2e-5 {
					t.Errorf("tone %d off by %.2g", k, d)
				}
			}
		})
	}
	wg.Wait()
}

func TestFitRefuses(t *testing.T) {
	x := make([]float64, 4800)
	for i := range x {
		x[i] = math.Sin(float64(i))
	}
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []struct {
		field string
		rate  float64
		cfg   FitConfig
	}{
		{"frames per second", 0, FitConfig{}},
		{"frames per second", nan, FitConfig{}},
		{"frames per second", inf, FitConfig{}},
		{"TonesHz[1]", 48000, FitConfig{TonesHz: []float64{1000, 0}}},
		{"TonesHz[0]", 48000, FitConfig{TonesHz: []float64{30000}}},
		{"TonesHz[0]", 48000, FitConfig{TonesHz: []float64{nan}}},
		{"TonesHz[0]", 48000, FitConfig{TonesHz: []float64{-5}}},
		{"tones", 48000, FitConfig{TonesHz: make([]float64, 1<<20)}},
		{"Harmonics", 48000, FitConfig{Harmonics: 1e8}},
		{"Harmonics", 48000, FitConfig{Harmonics: -1}},
		{"MainsHz", 48000, FitConfig{MainsHz: 55}},
		{"MainsHz", 48000, FitConfig{MainsHz: nan}},
		{"Exact", 48000, FitConfig{TonesHz: []float64{1000}, Common: true, Exact: true}},
		{"Exact", 48000, FitConfig{Exact: true}},
		{"FullScale", 48000, FitConfig{FullScale: -1}},
	} {
		if e, err := Fit(Planar(x), c.rate, c.cfg); e != nil || !errors.Is(err, ErrConfig) || !strings.Contains(err.Error(), c.field) {
			t.Errorf("%s: %v, want an ErrConfig that says so", c.field, err)
		}
	}
	bad := make([]float64, 4800)
	for i := range bad {
		bad[i] = nan
	}
	for name, f := range map[string]Frames[float64]{"none": {}, "short": Planar(x[:10]), "empty": Planar([]float64{}), "not finite": Planar(bad)} {
		if e, err := Fit(f, 48000, FitConfig{TonesHz: []float64{1000}}); e != nil || !errors.Is(err, ErrSignal) {
			t.Errorf("%s: %v, want ErrSignal", name, err)
		}
	}
	if _, err := Fit(Planar(x), 48000, FitConfig{TonesHz: []float64{1000, 1000.0001}, Exact: true}); err == nil || !errors.Is(err, ErrSignal) {
		t.Errorf("two tones in one place: %v", err)
	}
}
