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
	turnWindowS = 0.1 // of a phasor: mains lines are 50 Hz apart
	turnTones   = 3   // of the tones that are not asked for, the strongest
)

// turnBack looks for a turn. Where there is one, the record is replaced by one in which
// the tones go on as they began, and the hum is taken out.
func (an *analyzer) turnBack() {
	for _, hz := range an.mayTurn() {
		at, ok := an.seekTurn(hz)
		if !ok {
			continue
		}
		if h, ok := an.fitTurned(at); ok {
			an.takeTurned(h)
			return
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
	if len(out) > turnTones {
		out = out[:turnTones]
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

// seekTurn returns the frame near which the phasor of a tone steps most.
func (an *analyzer) seekTurn(hz float64) (frame float64, ok bool) {
	x := an.used().Channels
	block := max(1, int(turnBlockS*an.sig.RateHz))
	wide := int(math.Max(8, math.Min(turnWindowS, an.seconds()/6)/turnBlockS))
	apart := wide/2 + int(math.Round((joint.TurnS+turnBlockS)/turnBlockS)) // from the turn to the middle of a window
	window := make([]float64, wide)
	for k := range window {
		window[k] = 1 - math.Cos(2*math.Pi*(float64(k)+0.5)/float64(wide))
	}
	var z [][]complex128 // [channel][block], of the window around it
	top := 0.0
	for ch, sums := range blockSums(x, an.sig.RateHz, hz, block) {
		z = append(z, make([]complex128, max(0, len(sums)-wide)))
		for k := range z[ch] {
			for i, w := range window {
				z[ch][k] += sums[k+i] * complex(w, 0)
			}
		}
	}
	if len(z[0]) <= 2*apart {
		return 0, false
	}
	drift := turnPerBlock(z)
	best, at := 0.0, -1
	for k := apart; k < len(z[0])-apart; k++ {
		step, size, both := 0.0, 0.0, false
		for ch := range z {
			a, b := z[ch][k-apart]*drift.to(2*apart), z[ch][k+apart]
			step += num.SqAbs(a-b) / 4
			size += math.Max(num.SqAbs(a), num.SqAbs(b))
			both = both || math.Min(num.SqAbs(a), num.SqAbs(b)) > 0.01*math.Max(num.SqAbs(a), num.SqAbs(b)) && num.SqAbs(a-b) > 0.25*math.Max(num.SqAbs(a), num.SqAbs(b))
		}
		top = math.Max(top, size)
		if both && step > best {
			best, at = step, k
		}
	}
	if at < 0 || best < 0.1*top {
		return 0, false
	}
	return float64(an.span.first) + (float64(at)+float64(wide)/2)*float64(block), true
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
