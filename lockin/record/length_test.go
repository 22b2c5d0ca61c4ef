package record

import (
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/internal/testkit"
	"fmt"
	"math/cmplx"
	"strings"
	"testing"
)

// A tone 2 Hz from a strong mains line cannot be told from it in a short record; a record
// as long as the advice says is read.
func TestAdviceOfLengthBesideMains(t *testing.T) {
	testkit.NotShort(t)
	for _, f := range []float64{152, 52, 248} {
		r := testkit.Record{RateHz: 48000, Seconds: 0.3, TonesHz: []float64{f}, Amp: [2]float64{0.2, 0.1}, Noise: [2]float64{4e-6, 4e-6}, HumHz: 50.02, Hum: 5e-3}
		cfg := Config{TonesHz: []float64{f}, MainsHz: 50}
		a := analyzed(t, Signal{RateHz: r.RateHz, Channels: r.Make(1)}, cfg)
		d := findingOf(a, finding.Interference)
		if d == nil || !strings.Contains(d.Advice, "record for ") {
			t.Errorf("%g Hz in 0.3 s: %v", f, a.Findings)
			continue
		}
		if _, err := fmt.Sscanf(d.Advice, "record for %f s", &r.Seconds); err != nil || r.Seconds < 0.4 || r.Seconds > 1.5 {
			t.Errorf("%g Hz: %s", f, d.Advice)
		}
		a = analyzed(t, Signal{RateHz: r.RateHz, Channels: r.Make(2)}, cfg)
		if d := findingOf(a, finding.Interference); d != nil {
			t.Errorf("%g Hz in %.1f s: %s", f, r.Seconds, d.Detail)
			continue
		}
		if ratio := a.Tones[0].Phasors[1] / a.Tones[0].Phasors[0]; cmplx.Abs(ratio-0.5) > 5e-3 {
			t.Errorf("%g Hz in %.1f s: ratio %.5f, want 0.5", f, r.Seconds, ratio)
		}
	}
}

// Few periods of a slow tone are read, or it is said how much more is needed; and with
// that they are read.
func TestFewPeriodsOfATone(t *testing.T) {
	testkit.NotShort(t)
	for _, f := range []float64{12, 20, 29, 72, 100} {
		for _, periods := range []float64{3, 5, 7, 9, 12, 15} {
			for _, silence := range []float64{0, 0.2} {
				r := testkit.Record{RateHz: 8000, Seconds: periods/f + 2*silence, Silence: silence, Fade: 0.01, TonesHz: []float64{f},
					Amp: [2]float64{0.2, 0.1}, Noise: [2]float64{4e-6, 4e-6}, Bits: 24, HumHz: 50, Hum: 1e-4}
				a := analyzed(t, Signal{RateHz: r.RateHz, Channels: r.Make(3), Bits: 24}, Config{TonesHz: []float64{f}, MainsHz: 50})
				d := findingOf(a, finding.NoSignal)
				if d != nil && periods < leastPeriods {
					if !strings.Contains(d.Advice, " s longer") {
						t.Errorf("%g periods of %g Hz, silence %g s: %s; %s", periods, f, silence, d.Detail, d.Advice)
					}
					continue
				}
				if d != nil || len(a.Tones) != 1 {
					t.Errorf("%g periods of %g Hz, silence %g s: %v", periods, f, silence, a.Findings)
					continue
				}
				if ratio := a.Tones[0].Phasors[1] / a.Tones[0].Phasors[0]; cmplx.Abs(ratio-0.5) > 5e-3 {
					t.Errorf("%g periods of %g Hz, silence %g s: ratio %.5f, want 0.5; %v", periods, f, silence, ratio, a.Findings)
				}
			}
		}
	}
}
