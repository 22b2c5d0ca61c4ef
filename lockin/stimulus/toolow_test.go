package stimulus

import (
	"errors"
	"testing"
)

// A tone too low for the record is refused, also where it may be moved: by a little, not
// to where a whole cycle would fit.
func TestTonesTooLowAreRefused(t *testing.T) {
	for _, movable := range []bool{false, true} {
		for _, freqHz := range []float64{1e-12, 100e-6, 1e-3, 0.05, 0.15} {
			p, err := PlanTones(Config{RateHz: 48000, Seconds: 5}, []ToneRequest{{FreqHz: 1000}, {FreqHz: freqHz, Movable: movable}})
			if !errors.Is(err, ErrPlan) {
				t.Errorf("%g Hz, movable %v: planned as %+v, %v", freqHz, movable, p, err)
			}
		}
		if _, err := PlanTones(Config{RateHz: 48000, Seconds: 5}, []ToneRequest{{FreqHz: 0.25, Movable: movable}}); err != nil {
			t.Errorf("0.25 Hz, movable %v: %v", movable, err)
		}
	}
}
