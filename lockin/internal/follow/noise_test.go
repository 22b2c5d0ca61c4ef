package follow

import (
	"math/rand/v2"
	"sync"
	"testing"

	"example.org/wheatear/lockin/internal/testkit"
)

// White noise alone: a minute of it, 24 hours with -soak.
func TestNoiseMakesNoLock(t *testing.T) {
	hours := 0.01
	if *testkit.Soak {
		hours = 24
	}
	for _, c := range []Config{
		{RateHz: 48000, NearHz: 1000, RangeHz: 200, LoopHz: 20},
		{RateHz: 48000, NearHz: 1000, RangeHz: 200, LoopHz: 78.5},
		{RateHz: 48000, NearHz: 1000, RangeHz: 200, LoopHz: 200},
		{RateHz: 48000, NearHz: 10000, RangeHz: 2000, LoopHz: 1000},
	} {
		var mu sync.Mutex
		var locks, good, windows int
		var wg sync.WaitGroup
		const parts = 2
		for part := range parts {
			wg.Go(func() {
				l, g, w := listen(c, uint64(hours*3600*c.RateHz/parts), uint64(part))
				mu.Lock()
				defer mu.Unlock()
				locks, good, windows = locks+l, good+g, windows+w
			})
		}
		wg.Wait()
		t.Logf("loop of %g Hz near %g Hz, %g h: %d locks; %d of %d windows passed", c.LoopHz, c.NearHz, hours, locks, good, windows)
		if locks > 0 {
			t.Errorf("loop of %g Hz near %g Hz: %d locks to noise in %g h, want none", c.LoopHz, c.NearHz, locks, hours)
		}
	}
}

// listen counts locks and windows above the threshold in frames of noise.
func listen(c Config, frames, seed uint64) (locks, good, windows int) {
	c.Harmonics = []int{1}
	l := New(c)
	rng := rand.New(rand.NewPCG(seed, 77))
	x := make([]float64, 240)
	re, im := [][]float64{make([]float64, len(x))}, [][]float64{make([]float64, len(x))}
	before := 0
	for range frames / uint64(len(x)) {
		for i := range x {
			x[i] = rng.NormFloat64()
		}
		l.Run(x, re, im)
		if l.good > before {
			good++
		}
		before = l.good
		if l.Jumped() {
			locks++
		}
	}
	return locks, good, int(frames) / (l.window * l.frames)
}
