package trouble

import (
	"example.org/wheatear/lockin/internal/num"
	"math"
	"math/cmplx"
)

// compare fits the local models on both sides and finds the change point.
func (b *breaks) compare(s suspect) (verdict, bool) {
	w := b.tracks[s.track]
	turns, tone := b.modelAt(w)
	v := verdict{w: w, tone: tone}
	from, to := b.sound(w, s)
	lo, hi := s.lo, s.hi
	if lo-from < w.hop/2 || to-hi < w.hop/2 || tone < 0 {
		return v, false
	}
	if len(b.x) > 0 && harmonic(turns) {
		scaleAll(turns, 1+b.slope(w, turns, [2][2]int{{from, lo}, {hi, to}})/w.turns)
	}
	start, stop := max(from, lo-w.hop/2), min(to, hi+w.hop/2)
	costL, costR := make([]float64, stop-start), make([]float64, stop-start)
	channels := 0.0
	for _, x := range b.x {
		l, okL := fitSines(x, from, lo, turns)
		r, okR := fitSines(x, hi, to, turns)
		if !okL || !okR {
			return v, false
		}
		sigma := math.Sqrt((l.variance+r.variance)/2 + sampleFloor(l))
		v.addSides(l, r, sigma, min(lo-from, to-hi))
		if sigma > 0 {
			channels++
			addCost(costL, l.residual(x, start, stop), sigma)
			addCost(costR, r.residual(x, start, stop), sigma)
		}
	}
	p, q, _ := changePoint(costL, costR, voidCost*channels, voidExtra)
	v.frame, v.end = start+p, start+q
	return v, true
}

// sampleFloor is the variance that rounding leaves to noise-free samples.
func sampleFloor(s sines) float64 {
	p := s.dc * s.dc
	for _, z := range s.z {
		p += num.SqAbs(z)
	}
	return 1e-15 * p
}

func addCost(cost, residual []float64, sigma float64) {
	for i, r := range residual {
		cost[i] += r * r / (sigma * sigma)
	}
}

func (v *verdict) addSides(l, r sines, sigma float64, samples int) {
	v.left, v.right = append(v.left, l), append(v.right, r)
	v.sigma = append(v.sigma, sigma)
	ratio := r.z[v.tone] / l.z[v.tone]
	v.phase = append(v.phase, cmplx.Phase(ratio))
	v.logL = append(v.logL, math.Log(cmplx.Abs(ratio)))
	v.u = append(v.u, sigma*math.Sqrt(4/float64(samples))/cmplx.Abs(l.z[v.tone]))
}

// modelAt returns the frequencies of the local model, corrected for the clock, and
// the index of the track's tone among them.
func (b *breaks) modelAt(w watched) (turns []float64, tone int) {
	tone = -1
	for i, t := range b.turns {
		if t == w.turns {
			tone = i
		}
		turns = append(turns, t*b.scale)
	}
	return turns, tone
}

// clockScale returns by how much all frequencies differ from those given, by the
// track that tells it best.
func (b *breaks) clockScale() float64 {
	best, claim := b.tracks[0], 0.0
	for _, w := range b.tracks {
		if c := w.turns * w.ratio(); c > claim {
			best, claim = w, c
		}
	}
	return 1 + cmplx.Phase(best.steps().turn)/(2*math.Pi*float64(2*best.hop))/best.turns
}

// slope returns by how much the tone turns faster than the model, in cycles per
// sample: the phase between the halves of each side, weighted by its variance.
// Unlike the track, it never looks across the break.
func (b *breaks) slope(w watched, turns []float64, sides [2][2]int) float64 {
	sum, weight := 0.0, 0.0
	for _, s := range sides {
		mid := (s[0] + s[1]) / 2
		if float64(mid-s[0])*w.turns < 1.5 {
			continue
		}
		l, okL := fitSines(b.x[w.ch], s[0], mid, turns)
		r, okR := fitSines(b.x[w.ch], mid, s[1], turns)
		if okL && okR {
			n := float64(mid - s[0])
			sum += n * n * n * cmplx.Phase(r.z[0]/l.z[0]) / (2 * math.Pi * n)
			weight += n * n * n
		}
	}
	if weight == 0 {
		return 0
	}
	return sum / weight
}

func scaleAll(x []float64, by float64) {
	for i := range x {
		x[i] *= by
	}
}

// sound returns the stretch around a suspect on which the models may be fitted:
// steady tone, sideSpan blocks either way, not across another suspect.
func (b *breaks) sound(w watched, s suspect) (from, to int) {
	reach := sideSpan * 2 * w.hop
	if d := nearestSpacing(b.turns[0], b.turns); len(b.turns) > 1 && !harmonic(b.turns) && d > 0 {
		reach = max(reach, int(5/d))
	}
	from, to = max(b.first, s.lo-reach, s.after), min(b.end, s.hi+reach, s.before)
	k, l := (s.lo-w.first)/w.hop-2, (s.hi-w.first+w.hop-1)/w.hop
	from = max(from, w.first+w.steadyFrom(k, -1)*w.hop)
	to = min(to, w.first+(w.steadyFrom(l, 1)+2)*w.hop)
	return from, to
}

// steadyFrom goes from block k in the given direction as long as the level stays
// within a tenth of that of block k, and returns the last such block.
func (t toneTrack) steadyFrom(k, direction int) int {
	k = max(0, min(k, len(t.z)-1))
	level, last := cmplx.Abs(t.z[k]), k
	for i := k; i >= 0 && i < len(t.z); i += direction {
		if a := cmplx.Abs(t.z[i]); a < 0.9*level || a > 1.1*level {
			break
		}
		last = i
	}
	return last
}
