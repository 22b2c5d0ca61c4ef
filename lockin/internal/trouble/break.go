// Package trouble finds what spoils a record: breaks, clipping, levels that move,
// converted rates, one signal in both channels.
package trouble

import (
	"math"
	"math/cmplx"
	"sort"
)

// gapKind says what happened to the samples at a break.
type gapKind string

const (
	GapMissing  gapKind = "missing"  // samples are not there: the phase jumps, the level stays
	GapClock    gapKind = "clock"    // time steps by a part of a sample: the system steers the clock
	gapZero     gapKind = "zero"     // exact zeros in the midst of the tone
	gapHeld     gapKind = "held"     // one value repeated
	gapSilent   gapKind = "silent"   // the tone is away for a while, the noise stays
	gapRepeated gapKind = "repeated" // a block stands twice
	GapStep     gapKind = "step"     // level or one channel's phase jumps: the input changed
)

// Gap is one break in a record.
type Gap struct {
	Kind gapKind
	// Frame is the first frame that does not continue what came before, End the
	// first that belongs to what follows. They are equal where nothing of its own
	// stands between the two sides.
	Frame, End int
	// Frames is how many frames were lost (missing) or are void (zero, held,
	// silent) or stand twice (repeated).
	Frames float64
	// Modulo is the period of the tone in frames where Frames is known only up to
	// whole periods; 0 where it is known outright.
	Modulo float64
	// PhaseRad is by how much the phase of the tone is ahead after the break, in
	// (−π, π]; LevelRatio is the tone's level after the break over that before.
	PhaseRad, LevelRatio float64
}

// breakTones is how many tones of a record with many are watched.
const breakTones = 2

// FindBreaks looks for places in x[ch][first:end] where samples are missing, zero,
// held or repeated, or where the level jumps. tonesHz holds the tones as they
// stand in the record (within 10 Hz); the two on which a lost sample shows most
// are watched in every channel that has them.
//
// A tone is followed in blocks of 20 ms. A break shows as a step of phase or level
// between two blocks, against the scatter of all such steps (which covers hum,
// wander and drift) and the noise beside the tone; a slope of the phase, as from a
// clock, is taken off. What is suspected is then examined sample by sample: sines
// fitted on either side must each hold up to one place, which is found within a
// few samples at 40 dB of tone over noise. A change that is not abrupt (a fade, a
// transient, an automatic gain) is no break.
//
// On clean noise less than 1 record in 1000 gives a false alarm. A lost sample is
// found where it turns the phase by about 8/√N times the noise over the level, N
// being the samples in a block. Not seen: the loss of whole periods of every tone
// watched, breaks within a block of the ends, tones less than 16 dB above the
// noise in a block, and tones with fewer than four blocks of two periods each.
//
// The gaps come ordered by frame. Samples must be finite.
func FindBreaks(x [][]float64, rateHz float64, tonesHz []float64, first, end int) []Gap {
	b := newBreaks(x, rateHz, tonesHz, first, end)
	if len(b.tracks) == 0 {
		return nil
	}
	b.scale = b.clockScale()
	var gaps []Gap
	for _, s := range b.suspects() {
		if g, ok := b.examine(s); ok {
			gaps = append(gaps, g)
		}
	}
	return MergeGaps(gaps, b.tracks[0].hop)
}

// breaks is the state of one search.
type breaks struct {
	x          [][]float64
	rateHz     float64
	first, end int
	turns      []float64 // tones of the local model, strongest claim first, then harmonics
	tracks     []watched
	scale      float64 // true frequencies over those given
}

// watched is a tone followed in one channel.
type watched struct {
	toneTrack
	ch int
}

func newBreaks(x [][]float64, rateHz float64, tonesHz []float64, first, end int) *breaks {
	b := &breaks{x: x, rateHz: rateHz, first: max(0, first), end: end}
	if len(x) == 0 || !(rateHz > 0) {
		return b
	}
	b.end = min(end, len(x[0]))
	tones := b.rank(tonesHz)
	for i, f := range tones {
		if i < breakTones {
			b.watch(f, tones)
		}
		if i < modelTones {
			b.turns = append(b.turns, f/rateHz)
		}
	}
	sort.SliceStable(b.tracks, func(i, j int) bool { return b.tracks[i].ratio() > b.tracks[j].ratio() })
	if len(tones) == 1 {
		b.turns = append(b.turns, harmonicTurns(tones[0]/rateHz)...)
	}
	return b
}

// ratio is the signal-to-noise ratio of a block, finite for noise-free tones.
func (w watched) ratio() float64 { return w.level / (w.noise + 1e-12*w.level) }

// watch follows a tone in each channel and keeps the tracks that are clear.
func (b *breaks) watch(freqHz float64, all []float64) {
	length := trackLength(b.rateHz, freqHz, nearestSpacing(freqHz, all))
	if b.end-b.first < 5*length/2 || freqHz >= b.rateHz/2 {
		return
	}
	for ch, x := range b.x {
		t := followTone(x, freqHz/b.rateHz, b.first, b.end, length)
		if t.clear() && t.level > 0 {
			b.tracks = append(b.tracks, watched{t, ch})
		}
	}
}

// rank orders the tones by how much one lost sample changes the record: amplitude
// times frequency, up to an eighth of the rate.
func (b *breaks) rank(tonesHz []float64) []float64 {
	tones := append([]float64(nil), tonesHz...)
	if len(tones) < 2 {
		return tones
	}
	claim := map[float64]float64{}
	for _, f := range tones {
		for _, x := range b.x {
			h := hannTable(f/b.rateHz, min(b.end-b.first, int(b.rateHz)))
			from := (b.first + b.end - len(h.re)) / 2
			a := cmplx.Abs(h.sum(x[from:])) * math.Min(f, b.rateHz/8)
			claim[f] = math.Max(claim[f], a)
		}
	}
	sort.SliceStable(tones, func(i, j int) bool { return claim[tones[i]] > claim[tones[j]] })
	return tones
}

func nearestSpacing(freqHz float64, all []float64) float64 {
	least := 0.0
	for _, f := range all {
		if d := math.Abs(f - freqHz); d > 0 && (least == 0 || d < least) {
			least = d
		}
	}
	return least
}

// harmonicTurns returns the harmonics 2 to 5 below half the rate.
func harmonicTurns(turns float64) []float64 {
	var out []float64
	for h := 2.0; h <= 5 && h*turns < 0.49; h++ {
		out = append(out, h*turns)
	}
	return out
}

// MergeGaps orders gaps and drops those that another, better placed, covers.
func MergeGaps(gaps []Gap, reach int) []Gap {
	sort.SliceStable(gaps, func(i, j int) bool { return gaps[i].Frame < gaps[j].Frame })
	var out []Gap
	for _, g := range gaps {
		if n := len(out); n > 0 && g.Frame <= out[n-1].End+reach/8 {
			if g.Rank() > out[n-1].Rank() {
				out[n-1] = g
			}
			continue
		}
		out = append(out, g)
	}
	return out
}

// Certain is the rank of gaps that equal samples show.
const Certain = 3

// Rank prefers what is certain to what is inferred.
func (g Gap) Rank() int {
	switch g.Kind {
	case gapZero, gapHeld:
		return 4
	case gapRepeated:
		return Certain
	case GapMissing:
		return 2
	case gapSilent:
		return 1
	}
	return 0
}

// LongestSound returns the longest stretch of [first, end) between the gaps.
func LongestSound(gaps []Gap, first, end int) (from, to int) {
	from, to = first, first
	at := first
	for _, g := range append(append([]Gap(nil), gaps...), Gap{Frame: end, End: end}) {
		stop := min(max(g.Frame, first), end)
		if stop-at > to-from {
			from, to = at, stop
		}
		at = max(at, min(g.End, end))
	}
	return from, to
}
