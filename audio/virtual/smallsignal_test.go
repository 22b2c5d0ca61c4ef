package virtual

import (
	"fmt"
	"math/cmplx"
	"testing"
)

// At a level at which a law is a straight line, a part that is not linear is the
// circuit of that line. Both are played and compared, up to 20 kHz or 1/2.4 of the
// rate, which is 20 kHz at 48 kHz.
func TestSmallSignal(t *testing.T) {
	const tolerance = 1e-5 // relative, of each output: the contract of the package
	ohm := 1.85 * thermalVolt / 1e-3
	cases := map[string]struct {
		part   Part
		linear string
	}{
		"junction":         {Part{Circuit: "C 20n", Junctions: []Junction{{SaturationA: 1e-3, SeriesOhm: 2}}}, fmt.Sprintf("C 20n // (R %g + R 2)", ohm)},
		"two junctions":    {Part{Junctions: []Junction{{SaturationA: 1e-3, SeriesOhm: 2}, {SaturationA: 1e-3, SeriesOhm: 30, Reverse: true}}}, fmt.Sprintf("(R %g + R 2) // (R %g + R 30)", ohm, ohm)},
		"ceramic":          {Part{Ceramics: []Ceramic{{Farad: 22e-9, Volt: 2, SeriesOhm: 1, Henry: 1e-9, LeakOhm: 1e9}}}, "R 1 + L 1n + C 22n // R 1G"},
		"large ceramic":    {Part{Ceramics: []Ceramic{{Farad: 10e-6, Volt: 2, SeriesOhm: 0.01}}}, "R 0.01 + C 10u"},
		"core":             {Part{Cores: []Core{{Henry: 20e-3, FluxVs: 1e-4, WindingOhm: 22, LossOhm: 50e3, Farad: 80e-12}}}, "C 80p // (R 22 + L 20m // R 50k)"},
		"core and ceramic": {Part{Ceramics: []Ceramic{{Farad: 100e-9, Volt: 2, SeriesOhm: 1}}, Cores: []Core{{Henry: 5e-3, FluxVs: 1e-4, WindingOhm: 3, LossOhm: 20e3}}}, "(R 1 + C 100n) // (R 3 + L 5m // R 20k)"},
	}
	rates := []float64{44100, 48000, 96000}
	if raceEnabled {
		rates = rates[1:2]
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			worst := 0.0
			for _, rateHz := range rates {
				freqs := []float64{min(20e3, rateHz/2.4)}
				if rateHz == 48000 {
					freqs = append(freqs, 1e3)
				}
				for _, freqHz := range freqs {
					slow := spiceCase{rateHz: rateHz, jig: Jig{SourceOhm: 33, ReferenceOhm: 500}, part: c.part, seconds: 0.05, drive: 1e-4}
					line := slow
					line.part = Part{Circuit: c.linear}
					got, want := playCase(t, slow, freqHz), playCase(t, line, freqHz)
					for ch := range got {
						e := cmplx.Abs(got[ch]/want[ch] - 1)
						worst = max(worst, e)
						if !(e <= tolerance) {
							t.Errorf("%g Hz at a rate of %g Hz, input %d: apart by %.2g, %g is the contract", freqHz, rateHz, ch+1, e, tolerance)
						}
					}
				}
			}
			t.Logf("apart by %.2g", worst)
		})
	}
}
