package stimulus

import (
	"math"
	"testing"

	"example.org/wheatear/lockin/internal/num"
	"example.org/wheatear/lockin/internal/testkit"
	"pgregory.net/rapid"
)

func crestOf(cycles []int, amp, ph []float64) float64 {
	power := 0.0
	for _, a := range amp {
		power += a * a / 2
	}
	return PeriodicPeak(cycles, amp, ph) / math.Sqrt(power)
}

// logCycles are n whole numbers of cycles, evenly spread in their logarithm.
func logCycles(n int, lowest, highest float64) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = int(math.Round(lowest * math.Pow(highest/lowest, float64(i)/float64(n-1))))
	}
	return out
}

// Rules for flat, dense spectra do little for tones far apart; the search does.
func TestSearchedCrestOfLogarithmicTones(t *testing.T) {
	testkit.NotShort(t)
	for _, n := range []int{31} {
		cycles, ones := logCycles(n, 20, 20000), make([]float64, n)
		for i := range ones {
			ones[i] = 1
		}
		newman := Newman.Phases(ones)
		was, is := crestOf(cycles, ones, newman), crestOf(cycles, ones, searchPhases(cycles, ones, newman))
		t.Logf("%d tones: %.2f, searched %.2f", n, was, is)
		if most := 3.4; is > most {
			t.Errorf("%d tones: crest factor %.3f, want %.3g or less", n, is, most)
		}
	}
}

func TestSearchIsNeverWorseAndRepeats(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 12).Draw(t, "n")
		cycles, amp, ph := make([]int, n), make([]float64, n), make([]float64, n)
		at := 0
		for i := range n {
			at += rapid.IntRange(1, 60).Draw(t, "step")
			cycles[i] = at
			amp[i] = rapid.Float64Range(0.05, 2).Draw(t, "a")
			ph[i] = rapid.Float64Range(-4, 4).Draw(t, "phase")
		}
		got := searchPhases(cycles, amp, ph)
		if was, is := PeriodicPeak(cycles, amp, ph), PeriodicPeak(cycles, amp, got); is > was {
			t.Fatalf("peak %g, was %g", is, was)
		}
		for i, v := range searchPhases(cycles, amp, ph) {
			if v != got[i] {
				t.Fatalf("another phase the second time")
			}
		}
	})
}

// A plan with the rule has its peak where it was asked for, and more power below it.
func TestPlanWithSearchedPhases(t *testing.T) {
	var requests []ToneRequest
	for _, k := range logCycles(21, 50, 5000) {
		requests = append(requests, ToneRequest{FreqHz: float64(k)})
	}
	plans := map[PhaseRule]*Plan{}
	for _, rule := range []PhaseRule{Newman, Searched} {
		p, err := PlanTones(Config{RateHz: 48000, Seconds: 1.1, Peak: 0.5, Phases: rule}, requests)
		if err != nil {
			t.Fatal(err)
		}
		plans[rule] = p
	}
	x := make([]float64, plans[Searched].Frames())
	plans[Searched].Stimulus().Read(x)
	lo, hi := num.MinMax(x)
	if top := math.Max(-lo, hi); top > 0.5 || top < 0.47 {
		t.Errorf("peak %.4f, want 0.5", top)
	}
	if was, is := plans[Newman].CrestFactor, plans[Searched].CrestFactor; is > 0.9*was {
		t.Errorf("crest factor %.3f, %.3f without the search", is, was)
	}
}

func BenchmarkSearchPhases(b *testing.B) {
	cycles, ones := logCycles(31, 20, 20000), make([]float64, 31)
	for i := range ones {
		ones[i] = 1
	}
	for b.Loop() {
		searchPhases(cycles, ones, Newman.Phases(ones))
	}
}
