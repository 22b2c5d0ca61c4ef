package drawnjig

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"
)

func steady() Record {
	return Record{RateHz: 48000, Seconds: 0.5, Before: 0.1, After: 0.05, FadeS: 0.01,
		Tones: []Tone{{FreqHz: 1000, Amplitude: 0.5, Phase: 0.3}},
		Hear:  func(hz float64) [2]complex128 { return [2]complex128{complex(1, hz/1e4), -0.25} }}
}

// at is the complex amplitude at hz over whole periods from the given second, phase
// against a cosine that starts where the tone does.
func at(x []float64, r Record, hz, fromS, lengthS float64) complex128 {
	first, n := int(fromS*r.RateHz), int(lengthS*r.RateHz)
	sum := complex(0, 0)
	for i := first; i < first+n; i++ {
		sum += complex(x[i]*2/float64(n), 0) * cmplx.Rect(1, -2*math.Pi*hz*(float64(i)/r.RateHz-r.Before))
	}
	return sum
}

func near(t *testing.T, what string, got, want complex128, within float64) {
	t.Helper()
	if cmplx.Abs(got-want) > within {
		t.Errorf("%s: got %.9f, want %.9f", what, got, want)
	}
}

// A sum over whole periods is the definition of a Fourier coefficient.
func TestSamplesHoldWhatIsAskedFor(t *testing.T) {
	r := steady()
	r.Overtones = []complex128{0, 1e-3i}
	x := r.Samples(rand.New(rand.NewPCG(1, 1)))
	if want := int(0.65 * r.RateHz); len(x[0]) != want || len(x[1]) != want {
		t.Fatalf("%d and %d frames, want %d", len(x[0]), len(x[1]), want)
	}
	source := cmplx.Rect(0.5, 0.3)
	for ch := range x {
		near(t, "tone", at(x[ch], r, 1000, 0.2, 0.3), source*r.Hear(1000)[ch], 1e-12)
		near(t, "third harmonic", at(x[ch], r, 3000, 0.2, 0.3), cmplx.Rect(0.5, 0.9)*1e-3i*r.Hear(3000)[ch], 1e-12)
		for i, v := range x[ch] {
			if s := float64(i)/r.RateHz - r.Before; (s < 0 || s > r.Seconds) && v != 0 {
				t.Fatalf("frame %d of channel %d: %g outside of the tone", i, ch, v)
			}
		}
	}
}

func TestTurnChangesTheSign(t *testing.T) {
	r := steady()
	r.TurnAtS, r.TurnS = 0.25, 0.04
	x := r.Samples(rand.New(rand.NewPCG(1, 1)))
	near(t, "after the turn", at(x[0], r, 1000, 0.4, 0.1), -at(x[0], r, 1000, 0.2, 0.1), 1e-12)
}

// Rounding of no correlation with the signal has q²/12 (W. R. Bennett, Bell System
// Technical Journal 27 (1948) 446); triangular dither of two steps adds q²/6.
func TestRoundingNoise(t *testing.T) {
	for _, c := range []struct {
		dither bool
		want   float64
	}{{false, 1. / 12}, {true, 1./12 + 1./6}} {
		r := steady()
		r.Tones[0].FreqHz, r.FadeS = 997.3, 0
		clean := r.Samples(rand.New(rand.NewPCG(1, 1)))
		r.Spoil = []Spoil{Round(12, c.dither)}
		x := r.Samples(rand.New(rand.NewPCG(1, 1)))
		sum, n := 0.0, 0
		for i := 5000; i < 28000; i++ {
			d := (x[0][i] - clean[0][i]) * 2048
			sum, n = sum+d*d, n+1
		}
		if got := sum / float64(n); math.Abs(got/c.want-1) > 0.05 {
			t.Errorf("dither %v: %.4f q², want %.4f", c.dither, got, c.want)
		}
	}
}

// A steered clock turns the phase of both inputs alike; a conversion moves the tone by
// the ratio of the rates and keeps its level.
func TestClockSpoils(t *testing.T) {
	r := steady()
	r.Spoil = []Spoil{Steer(0.021, 100)}
	x := r.Samples(rand.New(rand.NewPCG(1, 1)))
	ratio := at(x[1], r, 1000, 0.2, 0.3) / at(x[0], r, 1000, 0.2, 0.3)
	near(t, "ratio under steering", ratio, -0.25/r.Hear(1000)[0], 1e-6)
	for _, taps := range []int{2, 64} {
		r := steady()
		r.RateHz = 44100
		r.Spoil = []Spoil{Convert(44100, 48000, taps)}
		x := r.Samples(rand.New(rand.NewPCG(1, 1)))
		r.RateHz = 48000
		limit := 1e-7
		if taps == 2 {
			limit = 5e-3 // a straight line droops by (πf/rate)²/3 = 0.17 %
		}
		near(t, "converted", at(x[0], r, 1000, 0.2, 0.3)/cmplx.Rect(0.5, 0.3), r.Hear(1000)[0], limit)
	}
}

func TestGainControlBringsLevelsTogether(t *testing.T) {
	r := steady()
	r.Spoil = []Spoil{GainControl{Target: 0.3, AttackS: 0.005, DecayS: 0.05, Strength: 1, MostDB: 30}.Spoil()}
	x := r.Samples(rand.New(rand.NewPCG(1, 1)))
	a, b := cmplx.Abs(at(x[0], r, 1000, 0.4, 0.1)), cmplx.Abs(at(x[1], r, 1000, 0.4, 0.1))
	if math.Abs(a/b-1) > 0.02 { // the follower ripples a little, by the level
		t.Errorf("inputs at gains of their own end at %.3f and %.3f", a, b)
	}
	for _, kind := range Movements {
		r.Spoil = []Spoil{DrawGain(rand.New(rand.NewPCG(2, 2)), kind, 1e-2, 0.65)}
		moved := r.Samples(rand.New(rand.NewPCG(1, 1)))
		if d := cmplx.Abs(at(moved[1], r, 1000, 0.15, 0.4)/at(moved[0], r, 1000, 0.15, 0.4) + 0.25/r.Hear(1000)[0]); d == 0 || d > 0.02 {
			t.Errorf("%s: the ratio moves by %g", kind, d)
		}
	}
}

func TestLossesAreWhole(t *testing.T) {
	r := steady()
	n := len(r.Samples(rand.New(rand.NewPCG(1, 1)))[0])
	for _, c := range []struct {
		s    Spoil
		want int
	}{{Lose(0.3, 137), n - 137}, {Repeat(0.3, 137), n + 137}, {Zero(0.3, 137), n}, {Clip([2]float64{0.2, 0}), n}, {Mix(0.1), n}} {
		r.Spoil = []Spoil{c.s}
		if x := r.Samples(rand.New(rand.NewPCG(1, 1))); len(x[0]) != c.want || len(x[1]) != c.want {
			t.Errorf("%d and %d frames, want %d", len(x[0]), len(x[1]), c.want)
		}
	}
}
