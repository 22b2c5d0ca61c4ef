package record

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/internal/drawnjig"
)

// turnedRecord is a tone of 0.2 and 0.1j of full scale with its sign turned midway, on
// lines of the mains.
func turnedRecord(toneHz, seconds float64, hum drawnjig.Hum) drawnjig.Record {
	return drawnjig.Record{
		RateHz: 8000, Seconds: seconds, Before: 0.1, After: 0.05, FadeS: 0.02, Tones: []drawnjig.Tone{{FreqHz: toneHz, Amplitude: 0.2, Phase: 0.3}},
		Hear:    func(float64) [2]complex128 { return [2]complex128{1, 0.5i} },
		TurnAtS: seconds / 2, TurnS: 0.04, Noise: [2]float64{1e-5, 1e-5}, Hum: hum,
	}
}

func TestTurnedToneIsReadFreeOfHum(t *testing.T) {
	for _, toneHz := range []float64{50, 150, 100.4} {
		for _, level := range []float64{0, 0.15} {
			rng := rand.New(rand.NewPCG(uint64(toneHz), 3))
			hum := drawnjig.Hum{Hz: 50.01, Drift: 0.003, Lines: []drawnjig.HumLine{
				{Order: 1, Amplitude: [2]complex128{complex(level, 0), complex(0, level/3)}},
				{Order: 2, Amplitude: [2]complex128{complex(level, level/5), complex(0, level/4)}},
				{Order: 3, Amplitude: [2]complex128{complex(level, 0), complex(0, level/5)}},
				{Order: 6, Amplitude: [2]complex128{complex(level/2, 0), complex(0, level/9)}},
			}}
			x := turnedRecord(toneHz, 1.2, hum).Samples(rng)
			a := analyzed(t, Signal{RateHz: 8000, Channels: x}, Config{TonesHz: []float64{toneHz}})
			tone := a.Tones[0]
			off := cmplx.Abs(tone.Phasors[1]/tone.Phasors[0]/0.5i - 1)
			u := math.Hypot(tone.ratioU(), math.Hypot(tone.LineU[0]/0.2, tone.LineU[1]/0.1))
			t.Logf("%g Hz, hum %g: off %.2g, u %.2g (noise %.2g), mains %v, %v", toneHz, level, off, u, tone.ratioU(), a.Mains.Lines, a.Findings)
			if a.Turn == 0 || off > 2.45*u*1.5 || u > 3e-5 {
				t.Errorf("%g Hz, hum %g: off by %.2g, u %.2g, turn at %d", toneHz, level, off, u, a.Turn)
			}
			if finding.Worst(a.Findings) > finding.Note {
				t.Errorf("%g Hz, hum %g: %v", toneHz, level, a.Findings)
			}
		}
	}
}

// A turn is placed, and a record without one is told from one with it, before anything is
// fitted: fits about a turn that is not there cost ten times what the record is worth.
func TestTurnIsSoughtWithoutAFit(t *testing.T) {
	for _, tonesHz := range [][]float64{{100}, {127, 1004, 10024}, {100, 1000, 3000}, {20, 25, 32, 40, 50, 63, 80, 100, 126, 160, 1000, 10000}} {
		for _, level := range []float64{0, 0.02} {
			for _, turned := range []bool{false, true} {
				r := turnedRecord(tonesHz[0], 1.2, drawnjig.Hum{Hz: 50.01, Lines: []drawnjig.HumLine{
					{Order: 1, Amplitude: [2]complex128{complex(level, 0), complex(0, level/3)}},
					{Order: 2, Amplitude: [2]complex128{complex(level/2, level/5), complex(0, level/4)}},
				}})
				if !turned {
					r.TurnAtS = 0
				}
				r.RateHz, r.Tones, r.After = 48000, nil, 0.2
				for i, hz := range tonesHz {
					r.Tones = append(r.Tones, drawnjig.Tone{FreqHz: hz, Amplitude: 0.5 / float64(len(tonesHz)), Phase: float64(i * i)})
				}
				x := r.Samples(rand.New(rand.NewPCG(5, uint64(len(tonesHz)))))
				at, ok := newAnalyzer(Signal{RateHz: r.RateHz, Channels: x}, Config{TonesHz: tonesHz, MaxHarmonic: 1}).seekTurn()
				offS := at/r.RateHz - r.Before - r.TurnAtS
				if ok != turned && len(tonesHz) > 1 || turned && !(math.Abs(offS) < 1e-3) {
					t.Errorf("%v Hz, hum %g, turned %v: found %v, off by %.2g s", tonesHz, level, turned, ok, offS)
				}
			}
		}
	}
}
