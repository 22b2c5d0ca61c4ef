package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// The least that the whole chain has to reach, from a recording to a reading.
const (
	leastCoverage  = 0.92 // of 95 % intervals; binomial room for a few hundred of them
	leastErrorHalf = 0.1  // median of |error| over half-width: below, u is idle talk …
	mostErrorHalf  = 0.75 // … and above, it claims too much (normal errors: 0.34)
)

// TestRecordings calibrates and measures every scenario, and holds readings and
// findings against what is known of them. WHEATEAR_RECORDINGS names another
// folder of scenarios; go test -run Recordings -v prints all scores.
func TestRecordings(t *testing.T) {
	dir := os.Getenv("WHEATEAR_RECORDINGS")
	if dir == "" {
		dir = filepath.Join("..", "..", "testdata", "recordings")
	}
	all := scenarios(t, dir)
	if len(all) == 0 {
		t.Skipf("no recordings in %s", dir)
	}
	var r result
	for _, s := range all {
		r.evaluate(t, s)
	}
	t.Logf("scores, worst first\n%s", r.table())
	t.Logf("findings of faulty files\n%s", strings.Join(r.verdicts, "\n"))
	for _, m := range r.misses {
		t.Error(m)
	}
	r.assess(t)
}

// assess asserts what all readings together have to reach.
func (r *result) assess(t *testing.T) {
	for _, s := range r.scores {
		if s.worst() > 1 {
			t.Errorf("%s: |Z| off by %.2f and phase by %.2f of the tolerance", s.name, s.relative, s.phase)
		}
	}
	s := r.summary()
	if s.intervals == 0 {
		return
	}
	coverage := float64(s.holding) / float64(s.intervals)
	t.Logf("%d of %d readings within tolerance; %d of %d intervals hold the truth (%.1f %%); median |error| / half-width %.2f",
		s.within, s.readings, s.holding, s.intervals, 100*coverage, s.median)
	if coverage < leastCoverage {
		t.Errorf("only %.1f %% of the intervals hold the truth, want %.0f %%", 100*coverage, 100*leastCoverage)
	}
	if s.median < leastErrorHalf || s.median > mostErrorHalf {
		t.Errorf("median |error| / half-width %.2f, want %g to %g", s.median, leastErrorHalf, mostErrorHalf)
	}
}
