package trouble

import (
	"example.org/wheatear/lockin/internal/num"
	"math"
	"sort"
)

const (
	ShortestRun = 8  // equal samples in all channels that may be a loss
	mostRuns    = 64 // more are the signal's own: a coarse converter, a dead zone
)

// run is a stretch [first, end) in which every living channel holds one value.
type run struct{ first, end int }

// ConstantRuns returns the runs of at least shortest equal samples in all channels
// that move at all within [first, end).
func ConstantRuns(x [][]float64, first, end, shortest int) []run {
	var live [][]float64
	for _, ch := range x {
		if !constant(ch[first:end]) {
			live = append(live, ch)
		}
	}
	var out []run
	start := first
	for n := first + 1; n <= end && len(live) > 0; n++ {
		if n < end && sameAsBefore(live, n) {
			continue
		}
		if n-start >= shortest {
			out = append(out, run{start, n})
		}
		start = n
	}
	return out
}

func sameAsBefore(live [][]float64, n int) bool {
	for _, ch := range live {
		if ch[n] != ch[n-1] {
			return false
		}
	}
	return true
}

func constant(x []float64) bool {
	for _, v := range x {
		if v != x[0] {
			return false
		}
	}
	return true
}

// runSuspects returns the runs during which the tone should have moved by much
// more than its noise and which do not sit at the extreme values, where clipping
// makes them.
func (b *breaks) runSuspects() []suspect {
	if len(b.tracks) == 0 {
		return nil
	}
	w := b.tracks[0]
	noise := w.noise * math.Sqrt(float64(w.hop)/3)
	extremes := b.extremes()
	var runs []run
	for _, r := range ConstantRuns(b.x, b.first, b.end, ShortestRun) {
		angle := math.Min(math.Pi*w.turns*float64(r.end-r.first), math.Pi/2)
		if 2*w.level*math.Sin(angle) > 8*noise && !b.atExtreme(r, extremes) && b.inTone(w, r) {
			runs = append(runs, r)
		}
	}
	if len(runs) > mostRuns {
		sort.SliceStable(runs, func(i, j int) bool { return runs[i].end-runs[i].first > runs[j].end-runs[j].first })
		runs = runs[:mostRuns]
	}
	out := make([]suspect, len(runs))
	for i, r := range runs {
		out[i] = suspect{lo: r.first, hi: r.end, why: whyRun}
	}
	return out
}

// inTone says that the tone stands within three blocks on both sides of the run.
func (b *breaks) inTone(w watched, r run) bool {
	on := w.on(leastPart)
	has := func(from, to int) bool {
		for k := max(0, from); k <= min(len(on)-1, to); k++ {
			if on[k] {
				return true
			}
		}
		return false
	}
	k, l := (r.first-w.first)/w.hop, (r.end-w.first)/w.hop
	return has(k-4, k-2) && has(l, l+3)
}

// extremes returns the smallest and the largest sample of every channel.
func (b *breaks) extremes() [][2]float64 {
	out := make([][2]float64, len(b.x))
	for ch, x := range b.x {
		lo, hi := num.MinMax(x[b.first:b.end])
		out[ch] = [2]float64{lo, hi}
	}
	return out
}

// atExtreme says that a channel stands at the end of its range during the run.
func (b *breaks) atExtreme(r run, extremes [][2]float64) bool {
	for ch, x := range b.x {
		lo, hi := extremes[ch][0], extremes[ch][1]
		if v := x[r.first]; hi > lo && v != 0 && (v > hi-0.01*(hi-lo) || v < lo+0.01*(hi-lo)) {
			return true
		}
	}
	return false
}
