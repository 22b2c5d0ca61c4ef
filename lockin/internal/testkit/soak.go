// Package testkit is what the tests of the library share: records with trouble in them,
// reference figures, the flag of the long runs.
package testkit

import (
	"flag"
	"math"
	"testing"
)

var Soak = flag.Bool("soak", false, "run the long statistical tests")

// NotShort leaves a test out of short runs, which look for races: it runs in a single
// goroutine and takes long there.
func NotShort(t *testing.T) {
	t.Helper()
	if testing.Short() {
		t.Skip("of no use for finding races")
	}
}

// SoakOnly leaves a case to the long run, so that the ordinary one stays short.
func SoakOnly(t *testing.T) {
	t.Helper()
	if !*Soak {
		t.Skip("in the long run only: -soak")
	}
}

// NeedSoak skips the test unless the long ones were asked for.
func NeedSoak(t *testing.T) {
	t.Helper()
	if f := flag.Lookup("soak"); f == nil || f.Value.String() != "true" {
		t.Skip("long; run with -soak")
	}
}

// Chance returns the largest number of events that n trials of probability p give
// with a chance above one in a thousand.
func Chance(n int, p float64) int {
	mean := float64(n) * p
	sum, term := 0.0, math.Exp(-mean)
	for k := 0; ; k++ {
		sum += term
		if 1-sum < 1e-3 {
			return k
		}
		term *= mean / float64(k+1)
	}
}
