package stimulus

import (
	"math"
	"testing"

	"example.org/wheatear/lockin/internal/testkit"
	"pgregory.net/rapid"
)

// Schroeder 1970; Newman after Boyd 1986. The figures carry nine decimals.
func TestCrestFactorsOfFlatMultisines(t *testing.T) {
	rules := map[string]PhaseRule{"zero": ZeroPhase, "newman pi(k-1)^2/N": Newman, "schroeder -pi k(k-1)/N": Schroeder}
	checked := 0
	for _, row := range testkit.ReadCSV(t, "multisine.csv") {
		rule, ok := rules[row["phase_rule"]]
		if !ok {
			continue
		}
		n := int(testkit.Number(t, row["tones"]))
		cycles, ones := make([]int, n), make([]float64, n)
		for i := range cycles {
			cycles[i], ones[i] = i+1, 1
		}
		got := PeriodicPeak(cycles, ones, rule.Phases(ones)) / math.Sqrt(float64(n)/2)
		if want := testkit.Number(t, row["crest_factor"]); math.Abs(got-want) > 1e-7*want {
			t.Errorf("%d tones, %s: crest factor %.9f, want %.9f", n, row["phase_rule"], got, want)
		}
		checked++
	}
	if checked != 12 {
		t.Errorf("%d rows checked, want 12", checked)
	}
}

// No point of the waveform exceeds the peak, and some point comes near it.
func TestPeriodicPeakBoundsTheWaveform(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 6).Draw(t, "n")
		cycles, amp, ph := make([]int, n), make([]float64, n), make([]float64, n)
		for i := range n {
			cycles[i] = rapid.IntRange(1, 40).Draw(t, "k")
			amp[i] = rapid.Float64Range(0.1, 2).Draw(t, "a")
			ph[i] = rapid.Float64Range(-4, 4).Draw(t, "phase")
		}
		peak, top := PeriodicPeak(cycles, amp, ph), 0.0
		for i := range 4000 {
			v, _, _ := waveform(cycles, amp, ph, float64(i)/4000)
			top = math.Max(top, math.Abs(v))
		}
		// 100 points per period of the highest tone see cos(π/100) of the peak.
		if top > peak*(1+1e-12) || top < peak*math.Cos(math.Pi/100)-1e-12 {
			t.Fatalf("peak %g, densest sampling %g", peak, top)
		}
	})
}

func TestWaveformDerivatives(t *testing.T) {
	cycles, amp, ph := []int{1, 3, 7}, []float64{1, 0.5, 0.3}, []float64{0.1, -2, 1}
	const h = 1e-5
	for _, at := range []float64{0.013, 0.4, 0.77} {
		v, slope, bend := waveform(cycles, amp, ph, at)
		up, _, _ := waveform(cycles, amp, ph, at+h)
		down, _, _ := waveform(cycles, amp, ph, at-h)
		if d := (up - down) / (2 * h); math.Abs(d-slope) > 1e-4*math.Abs(slope)+1e-3 {
			t.Errorf("slope at %g: %g, by differences %g", at, slope, d)
		}
		if d := (up - 2*v + down) / (h * h); math.Abs(d-bend) > 1e-4*math.Abs(bend)+1e-1 {
			t.Errorf("bend at %g: %g, by differences %g", at, bend, d)
		}
	}
}

func TestPeriodicPeakOfTooManyPointsIsSafe(t *testing.T) {
	if got := PeriodicPeak([]int{1, 1 << 20}, []float64{1, 2}, []float64{0, 1}); got != 3 {
		t.Errorf("got %g, want the sum 3", got)
	}
	if got := PeriodicPeak(nil, nil, nil); got != 0 {
		t.Errorf("no tones: got %g", got)
	}
}
