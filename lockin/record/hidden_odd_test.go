package record

import (
	"example.org/wheatear/lockin/internal/testkit"
	"math"
	"math/cmplx"
	"testing"
)

// Hum of odd multiples only, and a tone that a short record cannot tell from the fifth:
// the even multiples beside it say nothing, what may hide enters LineU all the same.
func TestOddMultiplesMayHide(t *testing.T) {
	testkit.NotShort(t)
	const trials = 40
	outside := 0
	for seed := range uint64(trials) {
		r := testkit.Record{RateHz: 48000, Seconds: 0.04, TonesHz: []float64{306}, Amp: [2]float64{0.2, 0.1}, Noise: [2]float64{4e-6, 4e-6}}
		x := r.Make(seed)
		for k, level := range map[int]float64{1: 6e-4, 3: 3e-4, 5: 1.5e-4, 7: 1e-4} {
			for i := range x[0] {
				x[0][i] += level * math.Cos(2*math.Pi*60*float64(k)/r.RateHz*float64(i)+float64(seed)*float64(k))
			}
		}
		a := analyzed(t, Signal{RateHz: r.RateHz, Channels: x}, Config{TonesHz: []float64{306}, MainsHz: 60})
		tone := a.Tones[0]
		u := math.Hypot(tone.ratioU(), math.Hypot(tone.LineU[0]/cmplx.Abs(tone.Phasors[0]), tone.LineU[1]/cmplx.Abs(tone.Phasors[1])))
		if cmplx.Abs(tone.Phasors[1]/tone.Phasors[0]*2-1) > 3*math.Sqrt2*u {
			outside++
		}
	}
	if outside > trials/20 {
		t.Errorf("%d of %d ratios are off by more than three of their uncertainties", outside, trials)
	}
}
