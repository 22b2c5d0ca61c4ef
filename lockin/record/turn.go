package record

import (
	"cmp"
	"math"
	"math/cmplx"
	"slices"

	"example.org/wheatear/lockin/internal/joint"
	"example.org/wheatear/lockin/internal/num"
)

// A stimulus that lies on a mains multiple turns its sign midway (stimulus.Plan). Where it
// does is found in the record itself: the phasor of a tone steps from A + H to −A + H, H
// being hum. A dropout steps likewise; what tells them apart is how the sign goes over.

const (
	turnGuardS  = 0.02 // beyond the turn, at least: what rings on after it
	turnGuardS2 = 0.04 // and at most
	turnBlockS  = 0.005
	turnWindowS = 0.1  // of a phasor: mains lines are 50 Hz apart
	turnTones   = 3    // that are looked at
	turnWeak    = 0.03 // of the strongest tone, in power: such a one may drown
)

// turnBack looks for a turn. Where there is one, the record is replaced by one in which
// the tones go on as they began, and the hum is taken out.
func (an *analyzer) turnBack() {
	if at, ok := an.seekTurn(); ok {
		if h, ok := an.fitTurned(at); ok {
			an.takeTurned(h)
		}
	}
}

// mayTurn lists tones that lie near enough to a mains multiple for a stimulus to turn: of
// those asked for, or else the strongest lines of the record.
func (an *analyzer) mayTurn() []float64 {
	var out []float64
	for _, f := range an.cfg.TonesHz {
		for _, m := range []float64{50, 60} {
			k := math.Max(1, math.Round(f/m))
			if k <= joint.HiddenOrders && math.Abs(f-k*m) < 0.1*k+5/an.seconds() && !slices.Contains(out, f) {
				out = append(out, f)
			}
		}
	}
	if len(an.cfg.TonesHz) > 0 {
		return out
	}
	spec := newBins(an.used().Channels, an.sig.RateHz, an.transforms).tapered()
	peaks := spec.peaks(strayOver * spec.floor(0, an.sig.RateHz/2))
	slices.SortFunc(peaks, func(a, b located) int { return cmp.Compare(b.power, a.power) })
	for _, p := range peaks {
		if len(out) < turnTones && p.foundHz < 60*joint.HiddenOrders && !near(p.foundHz, out, 4*spec.stepHz) {
			out = append(out, p.foundHz)
		}
	}
	return out
}

// seekTurn returns the frame near which the phasors of the tones step most, in a way that
// a turn may be the cause.
func (an *analyzer) seekTurn() (frame float64, ok bool) {
	near := an.mayTurn()
	if len(near) == 0 {
		return 0, false
	}
	block := max(1, int(turnBlockS*an.sig.RateHz))
	wide := int(math.Max(8, math.Min(turnWindowS, an.seconds()/6)/turnBlockS))
	reachHz := 1.5 / (float64(wide) * turnBlockS)
	toneHz, clear := an.clearOfHum(an.apart(an.cfg.TonesHz, reachHz), reachHz), true
	if len(toneHz) == 0 {
		toneHz, clear = an.apart(near, reachHz), false
	}
	stands := len(toneHz) > 0
	if !stands {
		toneHz = near
	}
	var seen []*stepping
	most := 0.0
	for _, hz := range toneHz[:min(len(toneHz), turnTones)] {
		s := newStepping(an.used().Channels, an.sig.RateHz, hz, block, wide)
		most = math.Max(most, s.top)
		seen = append(seen, s)
	}
	best, at := 0.0, -1
	for k := range seen[0].blocks() {
		steps, turns := 0.0, true
		for _, s := range seen {
			step, sign := s.at(k, stands)
			steps += step
			turns = turns && (sign || !clear || s.top < turnWeak*most)
		}
		if turns && steps > best {
			best, at = steps, k
		}
	}
	if at < 0 {
		return 0, false
	}
	return float64(an.span.first) + (middleOf(seen, at, stands)+float64(wide)/2)*float64(block), true
}

// middleOf places a turn near a block: about it the phasor of a window is that of the hum
// alone, half way between those on either side.
func middleOf(seen []*stepping, at int, stands bool) float64 {
	reach := seen[0].apart
	way := make([]float64, 2*reach+1) // from 1 to −1
	for _, s := range seen {
		if step, _ := s.at(at, stands); step > 0 {
			s.addWay(way, at)
		}
	}
	middle, nearest := float64(at), math.Inf(1)
	for i := 1; i < len(way); i++ {
		if way[i-1] > 0 && way[i] <= 0 {
			d := float64(i-1-reach) + way[i-1]/(way[i-1]-way[i])
			if math.Abs(d) < nearest {
				middle, nearest = float64(at)+d, math.Abs(d)
			}
		}
	}
	return middle
}

// apart lists those tones that are farther than that from all that were asked for: the
// phasor of such a one stands, but for the turn.
func (an *analyzer) apart(tonesHz []float64, reachHz float64) (out []float64) {
	for _, f := range tonesHz {
		alone := f > reachHz
		for _, g := range an.cfg.TonesHz {
			alone = alone && (f == g || math.Abs(f-g) > reachHz)
		}
		if alone {
			out = append(out, f)
		}
	}
	return out
}

// clearOfHum lists those that are farther than that from hum: all tones turn, and these
// show it without a fit.
func (an *analyzer) clearOfHum(tonesHz []float64, reachHz float64) (out []float64) {
	for _, f := range tonesHz {
		alone := true
		for _, m := range an.mainsCandidates() {
			k := math.Max(1, math.Round(f/m))
			alone = alone && (k > joint.TurnOrders || math.Abs(f-k*m) > reachHz)
		}
		if alone {
			out = append(out, f)
		}
	}
	return out
}

// stepping follows the phasors of a tone, to see where they step.
type stepping struct {
	z     [][]complex128 // [channel][block], of the window around it
	apart int            // blocks from the turn to the middle of a window beside it
	wide  int            // blocks in a window
	drift rotation
	top   float64 // largest power of a window
}

func newStepping(x [][]float64, rateHz, hz float64, block, wide int) *stepping {
	s := &stepping{wide: wide, apart: wide/2 + int(math.Round((joint.TurnS+turnBlockS)/turnBlockS))}
	window := make([]float64, wide)
	for k := range window {
		window[k] = 1 - math.Cos(2*math.Pi*(float64(k)+0.5)/float64(wide))
	}
	for ch, sums := range blockSums(x, rateHz, hz, block) {
		s.z = append(s.z, make([]complex128, max(0, len(sums)-wide)))
		for k := range s.z[ch] {
			for i, w := range window {
				s.z[ch][k] += sums[k+i] * complex(w, 0)
			}
		}
	}
	s.drift = turnPerBlock(s.z)
	for k := range s.blocks() {
		p := 0.0
		for ch := range s.z {
			p += num.SqAbs(s.z[ch][k])
		}
		s.top = math.Max(s.top, p)
	}
	return s
}

func (s *stepping) blocks() int { return len(s.z[0]) }

// at returns the power of a step at a block, 0 where it does not go from one phasor to
// another that stand, where they should, and whether that is the one with its sign turned.
func (s *stepping) at(k int, stands bool) (step float64, turns bool) {
	farther := s.apart + s.wide/2
	if k < s.apart || k >= s.blocks()-s.apart {
		return 0, false
	}
	kept, moved, both := 0.0, 0.0, false
	for _, z := range s.z {
		a, b := z[k-s.apart]*s.drift.to(2*s.apart), z[k+s.apart]
		less, more := math.Min(num.SqAbs(a), num.SqAbs(b)), math.Max(num.SqAbs(a), num.SqAbs(b))
		both = both || less > 0.01*more && num.SqAbs(a-b) > 0.25*more
		step += num.SqAbs(a-b) / 4
		kept += num.SqAbs(a+b) / 4
		if k >= farther {
			moved += num.SqAbs(z[k-farther]*s.drift.to(farther+s.apart) - a)
		}
		if k < s.blocks()-farther {
			moved += num.SqAbs(z[k+farther]*s.drift.to(s.apart-farther) - b)
		}
	}
	if !both || step < 0.1*s.top || stands && moved > 2*step {
		return 0, false
	}
	return step, kept < 0.25*step
}

// addWay adds how the phasors go over from one side to the other about a block.
func (s *stepping) addWay(way []float64, at int) {
	reach := (len(way) - 1) / 2
	for _, z := range s.z {
		a, b := z[at-s.apart]*s.drift.to(s.apart), z[at+s.apart]*s.drift.to(-s.apart)
		for i := range way {
			v := z[at+i-reach]*s.drift.to(reach-i) - (a+b)/2
			way[i] += real(v * cmplx.Conj(a-b))
		}
	}
}

// rotation is how far the phasors of a tone turn from one block to the next, as its
// frequency is not quite what it should be.
type rotation float64

func (r rotation) to(blocks int) complex128 { return cmplx.Rect(1, float64(r)*float64(blocks)) }

func turnPerBlock(z [][]complex128) rotation {
	var angles []float64
	for _, c := range z {
		top := 0.0
		for _, v := range c {
			top = math.Max(top, num.SqAbs(v))
		}
		for k := 1; k < len(c); k++ {
			if num.SqAbs(c[k]) > 0.1*top && num.SqAbs(c[k-1]) > 0.1*top {
				angles = append(angles, cmplx.Phase(c[k]*cmplx.Conj(c[k-1])))
			}
		}
	}
	if len(angles) == 0 {
		return 0
	}
	return rotation(num.Median(angles))
}

// turnedSpan returns the longest stretch about a turn in which the tone stands on both
// sides, and how many frames in its middle are skipped.
func (an *analyzer) turnedSpan(at float64) (s span, skip int, ok bool) {
	rate := an.sig.RateHz
	clear := int((joint.TurnS + turnGuardS) * rate)
	left, right := int(at)-clear, int(at)+clear
	if left-an.span.first < 2*clear || an.span.end-right < 2*clear {
		return s, 0, false
	}
	tones := sortedCopy(an.cfg.TonesHz)
	before := steadySpan(an.sig.Slice(an.span.first, left), tones)
	after := steadySpan(an.sig.Slice(right, an.span.end), tones)
	if before.end < left-an.span.first-clear || after.first > 2*clear {
		return s, 0, false
	}
	half := math.Min(at-float64(an.span.first+before.first), float64(right+after.end)-at)
	guard := math.Max(turnGuardS, math.Min(turnGuardS2, 0.1*half/rate))
	if half < 3*float64(clear) {
		return s, 0, false
	}
	s.first = int(math.Ceil(at - half))
	frames := int(math.Round(2 * (at - float64(s.first))))
	s.end = s.first + frames
	skip = 2*int((joint.TurnS+guard)*rate) + frames%2
	return s, skip, frames-skip > 2*minFrames
}
