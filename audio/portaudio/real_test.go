//go:build portaudio && cgo && linux

package portaudio

import (
	"context"
	"math"
	"math/cmplx"
	"testing"
	"time"

	"example.org/wheatear/audio"
	"go.uber.org/goleak"
)

// openCard opens a device and checks at the end that nothing is left of it.
func openCard(t *testing.T, o Options) *Card {
	t.Helper()
	before := goleak.IgnoreCurrent()
	c, err := Open(context.Background(), o)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := c.Close(); err != nil {
			t.Error(err)
		}
		goleak.VerifyNone(t, before)
	})
	return c
}

// unbroken makes a run of a tone of 1 kHz that holds for the given seconds, again
// if there are breaks in it: this machine may be too busy for sound.
func unbroken(t *testing.T, c *Card, cfg audio.Config, stimulus []float64, seconds float64) *audio.Record {
	t.Helper()
	for range 5 {
		rec, err := c.Run(context.Background(), cfg, stimulus)
		if err != nil {
			t.Fatal(err)
		}
		n := breaks(blocks(settled(t, rec, 1, seconds), 1000, rec.RateHz, int(rec.RateHz/100)))
		if n == 0 {
			return rec
		}
		t.Logf("%d breaks in the tone, again; events %v", n, rec.Events)
	}
	t.Fatal("five runs, and breaks in each")
	return nil
}

// settled cuts out of channel ch, counted from 0, the seconds of tone that begin a
// while after its first sample, in whole blocks of ten periods of 1 kHz.
func settled(t *testing.T, rec *audio.Record, ch int, seconds float64) []float64 {
	t.Helper()
	x := rec.Channels[ch]
	for i, v := range x {
		if math.Abs(v) > 1e-3 {
			first, n := i+int(0.03*rec.RateHz), int(seconds*100)*int(rec.RateHz/100)
			if first+n > len(x) {
				t.Fatalf("the tone begins at frame %d of %d, too late for %g s of it", i, len(x), seconds)
			}
			return x[first : first+n : len(x)]
		}
	}
	t.Fatalf("no tone in channel %d of %d frames; %v", ch+1, len(x), rec.Events)
	return nil
}

// The jig at 1 kHz and 48 kHz, computed from its difference equation: a low pass of
// one pole, a/(1-(1-a)/z), and a half.
func jigRatio() complex128 {
	z := cmplx.Rect(1, 2*math.Pi*1000/48000)
	return jigPole / (1 - (1-jigPole)/z) / 0.5
}

// ratio is that of the tone of 1 kHz in the first channel to that in the second.
func ratio(t *testing.T, rec *audio.Record, seconds float64) complex128 {
	t.Helper()
	second := settled(t, rec, 1, seconds)
	first := rec.Frames() - cap(second) // the same frames
	part := rec.Channels[0][first : first+len(second)]
	return phasor(part, 1000, rec.RateHz, 0) / phasor(second, 1000, rec.RateHz, 0)
}

// checkTone compares both channels with the jig. tolerance is relative.
func checkTone(t *testing.T, rec *audio.Record, seconds, tolerance float64) {
	t.Helper()
	if got := cmplx.Abs(phasor(settled(t, rec, 1, seconds), 1000, rec.RateHz, 0)); math.Abs(got-0.25) > 0.25*tolerance {
		t.Errorf("level %.6f, want 0.25", got)
	}
	if got := ratio(t, rec, seconds); cmplx.Abs(got-jigRatio()) > cmplx.Abs(jigRatio())*tolerance {
		t.Errorf("ratio %.6f, want %.6f", got, jigRatio())
	}
}

// during runs f when a run of four seconds has recorded for one, and returns how
// long the run went on after f began.
func during(t *testing.T, c *Card, f func()) (*audio.Record, time.Duration, error) {
	t.Helper()
	trouble := make(chan time.Time, 1)
	begun := false
	watch := func(first int64, block [][]float64) bool {
		if first > 48000 && !begun {
			begun = true
			go func() {
				trouble <- time.Now()
				f()
			}()
		}
		return true
	}
	rec, err := c.RunMonitored(context.Background(), audio.Config{Frames: 4 * 48000}, sine(1000, 48000, 0.5, 4*48000), watch)
	select {
	case at := <-trouble:
		return rec, time.Since(at), err
	default:
		t.Fatalf("the run ended before the trouble: %v", err)
		return nil, 0, nil
	}
}
