package page

import (
	"os"
	"path/filepath"
	"testing"
	"time"
)

// A clock that is set back neither ends the trend nor empties it.
func TestTrendWhenTheClockJumps(t *testing.T) {
	var tr trend
	noon := time.Date(2026, 11, 30, 12, 0, 0, 0, time.UTC)
	for i, jump := range []int{0, 1, -1, 0, 1} {
		if tr.add("film", &TrendPoint{Time: noon.AddDate(jump, 0, 0)}) == nil || len(tr.points) != i+1 {
			t.Errorf("jump %d by %d years: %d points", i, jump, len(tr.points))
		}
	}
	if tr.add("film", &TrendPoint{Time: noon.AddDate(1, 0, 0).Add(-trendEvery / 2)}) != nil {
		t.Error("a point too many")
	}
}

// Lots that are put aside at one moment of the clock are all there afterwards.
func TestLotsPutAsideAtOneMoment(t *testing.T) {
	dir := t.TempDir()
	for i := range 3 {
		name := asideName(dir, "lot", "20261130-120000.000")
		if exists(name) || filepath.Dir(name) != dir {
			t.Fatalf("lot %d would go to %s", i, name)
		}
		if err := os.WriteFile(name, nil, 0o600); err != nil {
			t.Fatal(err)
		}
	}
}
