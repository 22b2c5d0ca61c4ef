package record

import (
	"example.org/wheatear/lockin/internal/testkit"
	"flag"
	"math/cmplx"
	"testing"
	"time"
)

// An hour of 192 kHz stereo, off the nominal frequency by 100 ppm: the phasors are
// exact to what a second shows, memory does not grow, and it goes a hundred times
// faster than real time.
func TestSoakTrackAnHour(t *testing.T) {
	if f := flag.Lookup("soak"); f == nil || f.Value.String() != "true" {
		t.Skip("long; run with -soak")
	}
	const rate, freq = 192_000, 1000.1 // 10001 cycles in ten seconds
	s := newTrackSource(rate, freq, 0)
	block := s.block(10 * rate)
	tr, err := NewTracker(TrackConfig{RateHz: rate, TonesHz: []float64{1000}})
	if err != nil {
		t.Fatal(err)
	}
	start := time.Now()
	for range 360 {
		if err := tr.Add(block); err != nil {
			t.Fatal(err)
		}
	}
	spent := time.Since(start).Seconds()
	r, err := tr.Result()
	if err != nil {
		t.Fatal(err)
	}
	if speed := 3600 / spent; speed < 100 {
		t.Errorf("%.0f times real time, want 100", speed)
	} else {
		t.Logf("%.0f times real time, %.2f ns per frame", speed, spent/3600/rate*1e9)
	}
	tone := r.Tones[0]
	testkit.CheckRel(t, "frequency", tone.FreqHz, freq, 1e-12)
	for ch, z := range tone.Phasors {
		if d := cmplx.Abs(z - s.phasorAt(ch, r.MiddleS*rate)); d > 1e-9 {
			t.Errorf("channel %d: off by %.2g", ch, d)
		}
	}
	if n := len(tr.tone[0].series.weight); n > trackCapacity {
		t.Errorf("%d entries kept", n)
	}
}
