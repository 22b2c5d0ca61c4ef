package trouble

import (
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/internal/testkit"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

// openJig makes the two channels of an open: equal tones and hum but for small
// differences of gain and delay, noise of either converter and noise of the source
// common to both. It returns them with and without what a fit would take out.
func openJig(seed uint64, own, common float64, bits int) (x, noise [2][]float64) {
	rng := rand.New(rand.NewPCG(seed, 5))
	const n = 20000
	gain := 1 + 0.002*rng.NormFloat64()
	for ch := range x {
		x[ch], noise[ch] = make([]float64, n), make([]float64, n)
	}
	for i := 0; i < n; i++ {
		shared := common * rng.NormFloat64()
		for ch := range x {
			t := float64(i) / 48000
			tone := 0.4*math.Cos(2*math.Pi*1000*t) + 0.003*math.Cos(2*math.Pi*50*t)
			v := own*rng.NormFloat64() + shared
			if ch == 1 {
				tone, v = tone*gain, v*gain
			}
			x[ch][i] = testkit.Round(tone+v, bits)
			noise[ch][i] = x[ch][i] - tone
		}
	}
	return x, noise
}

// copyOf makes the channels of a mono recorder.
func copyOf(seed uint64, own, gain float64, bits int, dither bool) (x, noise [2][]float64) {
	a, e := openJig(seed, own, 0, 0)
	rng := rand.New(rand.NewPCG(seed, 6))
	for ch, g := range []float64{1, gain} {
		x[ch], noise[ch] = make([]float64, len(a[0])), make([]float64, len(a[0]))
		for i, v := range a[0] {
			d := 0.0
			if dither {
				d = (rng.Float64() - rng.Float64()) * math.Exp2(float64(1-bits))
			}
			x[ch][i] = testkit.Round(g*v+d, bits)
			noise[ch][i] = x[ch][i] - g*(v-e[0][i])
		}
	}
	return x, noise
}

func checkOpens(t *testing.T, trials int) {
	for _, c := range []struct {
		name        string
		own, common float64
		bits        int
	}{
		{"independent noise", 1e-4, 0, 0}, {"16 bits", 2e-5, 0, 16}, {"noise below the last bit", 3e-6, 0, 16},
		{"noise of the source 20 dB above", 1e-5, 1e-4, 24}, {"the same, 16 bits", 1e-5, 1e-4, 16}, {"24 bits", 1e-6, 0, 24},
	} {
		alarms := 0
		for i := 0; i < trials; i++ {
			x, e := openJig(uint64(i), c.own, c.common, c.bits)
			if m := FindMono(x[0], x[1], e[0], e[1]); m.Mono {
				t.Logf("%s, record %d: %+v", c.name, i, m)
				alarms++
			}
		}
		if alarms > testkit.Chance(trials, 1e-3) {
			t.Errorf("%s: %d of %d opens called mono", c.name, alarms, trials)
		}
	}
}

func TestAnOpenIsNotMono(t *testing.T) { checkOpens(t, 8) }

func TestSoakAnOpenIsNotMono(t *testing.T) {
	testkit.NeedSoak(t)
	checkOpens(t, 1000)
}

func TestCopiesAreMono(t *testing.T) {
	for _, c := range []struct {
		name      string
		own, gain float64
		bits      int
		dither    bool
	}{
		{"equal", 1e-4, 1, 16, false}, {"one last bit apart", 1e-4, 1 + 1e-6, 16, false}, {"dithered apart", 1e-4, 1, 16, true},
		{"panned", 1e-4, 0.5, 24, false}, {"panned, 16 bits", 3e-4, 0.7, 16, false}, {"inverted", 1e-4, -1, 16, false},
		{"floating point, panned", 1e-6, 0.3, 0, false}, {"no noise", 0, 1, 0, false},
	} {
		x, e := copyOf(1, c.own, c.gain, c.bits, c.dither)
		m := FindMono(x[0], x[1], e[0], e[1])
		if !m.Mono || math.Abs(m.Gain-c.gain) > 1e-4*math.Abs(c.gain) {
			t.Errorf("%s: %+v", c.name, m)
		}
		if f := m.Finding(); f.Code != finding.Mono || f.Severity != finding.Invalid || !strings.Contains(f.Detail, "one signal") {
			t.Errorf("%s: %+v", c.name, f)
		}
	}
}

// One converter behind two tone controls: the tones differ, the noise does not.
func TestSharedNoiseIsMono(t *testing.T) {
	x, e := openJig(3, 1e-4, 0, 0)
	y, f := make([]float64, len(x[0])), make([]float64, len(x[0]))
	for i := range y {
		y[i] = x[0][i] + 0.01*math.Sin(2*math.Pi*1000*float64(i)/48000)
		f[i] = e[0][i]
	}
	m := FindMono(x[0], y, e[0], f)
	if !m.Mono || m.Equal || !strings.Contains(m.Finding().Detail, "common") {
		t.Errorf("%+v", m)
	}
}

// With no residuals only the samples decide.
func TestMonoWithoutResiduals(t *testing.T) {
	x, _ := copyOf(1, 1e-4, 1, 16, true)
	if m := FindMono(x[0], x[1], nil, nil); !m.Mono {
		t.Errorf("copy: %+v", m)
	}
	x, _ = openJig(1, 1e-4, 0, 16)
	if m := FindMono(x[0], x[1], nil, nil); m.Mono {
		t.Errorf("open: %+v", m)
	}
}

func TestSilenceIsNotMono(t *testing.T) {
	zero := make([]float64, 20000)
	x, _ := openJig(1, 1e-4, 0, 16)
	for _, c := range [][2][]float64{{zero, zero}, {x[0], zero}, {zero, x[0]}, {nil, nil}, {x[0], x[1][:100]}} {
		if m := FindMono(c[0], c[1], nil, nil); m.Mono {
			t.Errorf("%+v", m)
		}
	}
}

func BenchmarkFindMono(b *testing.B) {
	x, e := openJig(1, 1e-4, 0, 24)
	for b.Loop() {
		FindMono(x[0], x[1], e[0], e[1])
	}
}
