package record

import (
	"math"

	"example.org/wheatear/lockin/internal/joint"
	"example.org/wheatear/lockin/internal/num"
)

// turned is the fit around a turn: tones with their sign turned, hum without.
type turned struct {
	at   float64 // frame of the turn
	skip int     // frames about it that do not count
}

// fitTurned fits a record about a turn near a frame, places the turn by how the sign goes
// over, and says whether it goes as that of a stimulus.
func (an *analyzer) fitTurned(at float64) (*analyzer, bool) {
	at = math.Round(2*at) / 2
	for range 3 {
		h, ok := an.fitAround(at)
		if !ok {
			return nil, false
		}
		placed, ok := h.placeTurn()
		if math.Abs(placed-at) < turnPlacedS*an.sig.RateHz {
			return h, ok
		}
		at = math.Round(2*placed) / 2
	}
	return nil, false
}

// turnPlacedS is how well a turn must be placed: within the guard. The first guess is, and
// a second fit costs as much as the first.
const turnPlacedS = 6e-3

// fitAround fits the tones turned at a frame.
func (an *analyzer) fitAround(at float64) (*analyzer, bool) {
	s, skip, ok := an.turnedSpan(at)
	if !ok {
		return nil, false
	}
	h := newAnalyzer(an.sig, an.cfg)
	h.transforms, h.grid = an.transforms, an.grid
	copy(h.out.Peak, an.out.Peak)
	h.span = s
	h.sig = an.sig.negated(at)
	h.locate()
	h.sig = an.sig
	if len(h.tones) == 0 {
		return nil, false
	}
	h.turn = &turned{at: at, skip: skip}
	for range mostTrims {
		if h.fitSpan() != nil {
			return nil, false
		}
		if !h.trimEdges() {
			break
		}
		cut := max(h.span.first-s.first, s.end-h.span.end)
		if s.first, s.end = s.first+cut, s.end-cut; s.end-s.first < 2*skip {
			return nil, false
		}
		h.span = s
	}
	h.avoid = h.modelledHz()
	return h, true
}

// negated returns a copy with the other sign from a frame on.
func (s Signal) negated(at float64) Signal {
	out := s
	out.Channels = make([][]float64, len(s.Channels))
	from := max(0, min(s.Frames(), int(math.Ceil(at))))
	for ch, x := range s.Channels {
		y := append([]float64(nil), x...)
		for i := from; i < len(y); i++ {
			y[i] = -y[i]
		}
		out.Channels[ch] = y
	}
	return out
}

// How the sign goes over is held against the raised cosine of a stimulus: what is left is
// a share of the power of the tone over the turn, beyond noise. A tone that jumps leaves
// 3/8 of it.
const (
	turnReachS = 0.025 // how far off the first guess may be
	turnStepS  = 0.25e-3
	turnShape  = 0.08

	turnStepBlockS = 2e-3 // in which the tone is looked at
)

// placeTurn returns the frame about which the sign goes over.
func (an *analyzer) placeTurn() (frame float64, ok bool) {
	rate, f := an.sig.RateHz, an.joint
	reach := int((joint.TurnS + turnReachS + 0.005) * rate)
	first, end := max(0, int(an.turn.at)-reach), min(an.sig.Frames(), int(an.turn.at)+reach)
	block := max(1, int(turnStepBlockS*rate))
	blocks := (end - first) / block
	seen, weight := make([]float64, blocks), make([]float64, blocks) // of the tone, per block
	for ch, r := range f.Residual {
		rest, tone := an.turnedAlone(ch, first, end)
		noise := num.MeanSquare(r) * float64(f.Frames) / float64(f.Used())
		noise = math.Max(noise, 1e-6*num.MeanSquare(tone))
		if noise == 0 {
			continue
		}
		for i, v := range rest[:blocks*block] {
			seen[i/block] += v * tone[i] / noise
			weight[i/block] += tone[i] * tone[i] / noise
		}
	}
	best, power := math.Inf(1), 0.0
	for d := -turnReachS; d <= turnReachS; d += turnStepS {
		left, inside := 0.0, 0.0
		for b, w := range weight {
			t := (float64(first+b*block)+float64(block-1)/2-an.turn.at)/rate - d
			if w > 0 {
				left += num.Sq(seen[b]-w*joint.Sign(t)) / w
			}
			if math.Abs(t) < joint.TurnS {
				inside += w
			}
		}
		if left < best {
			best, power, frame = left, inside, an.turn.at+d*rate
		}
	}
	spread := math.Sqrt(2 * float64(blocks))
	excess := best - float64(blocks)
	return frame, excess < turnShape*power+4*spread && 0.375*power > 8*spread
}

// turnedAlone returns a stretch of a channel without all that did not turn, and the turned
// tones in it as if they had not.
func (an *analyzer) turnedAlone(ch, first, end int) (rest, tone []float64) {
	f, from := an.joint, first-an.span.first
	isTurned := func(l joint.Line) bool { return l.Turned }
	rest, tone = make([]float64, end-first), make([]float64, end-first)
	model, back := make([]float64, end-first), make([]float64, end-first)
	f.AddTo(model, ch, from)
	f.AddLines(back, ch, from, isTurned)
	f.AddSteady(tone, ch, from, isTurned)
	for i, v := range an.sig.Channels[ch][first:end] {
		rest[i] = v - model[i] + back[i]
	}
	return rest, tone
}

// takeTurned replaces the record by one in which the tones go on as they began, and hum
// and what else was not turned is gone: what is left of the second half is negated as
// well, so that the fit of the tones, and the noise beside them, are those of the turned
// fit. Over the skip stands what the fit says. Digital zeros stay zeros.
func (an *analyzer) takeTurned(h *analyzer) {
	n, f := an.sig.Frames(), h.joint
	skipFirst := int(math.Ceil(h.turn.at)) - h.turn.skip/2
	skipEnd := skipFirst + h.turn.skip
	kept := func(l joint.Line) bool { return !l.Turned && !l.Mains && l.Order > 1 }
	removed := func(l joint.Line) bool { return !l.Turned && !kept(l) }
	back := Signal{RateHz: an.sig.RateHz, Bits: an.sig.Bits, Channels: make([][]float64, len(f.Amp))}
	for ch, x := range h.sig.Channels {
		gone, even, tone := make([]float64, n), make([]float64, n), make([]float64, n)
		f.AddLines(gone, ch, -h.span.first, removed)
		f.AddLines(even, ch, -h.span.first, kept)
		f.AddSteady(tone, ch, -h.span.first, func(l joint.Line) bool { return l.Turned })
		offset := f.Poly[ch][0]
		y := make([]float64, n)
		for i, v := range x {
			y[i] = v - gone[i]
			switch {
			case i >= skipFirst && i < skipEnd:
				y[i] = tone[i] + offset
				if i >= h.span.first && i < h.span.end {
					y[i] += even[i]
				}
			case float64(i) > h.turn.at && i < h.span.end:
				y[i] = 2*(even[i]+offset) - y[i]
			case float64(i) > h.turn.at:
				y[i] = 2*offset - y[i]
			}
		}
		back.Channels[ch] = y
	}
	keepZeros(back.Channels, an.sig.Channels)
	an.raw, an.sig, an.turn, an.around = an.sig, back, h.turn, h
	an.cfg.NoMains = true
	an.out.Turn = int(math.Ceil(h.turn.at))
}

// keepZeros sets what was zero in all channels, two frames or more in a row, to zero.
func keepZeros(y, x [][]float64) {
	run := 0
	for i := range x[0] {
		zero := true
		for ch := range x {
			zero = zero && x[ch][i] == 0
		}
		if !zero {
			run = 0
			continue
		}
		run++
		for k := i - 1; run >= 2 && k <= i; k++ {
			for ch := range y {
				y[ch][k] = 0
			}
		}
	}
}

// filled is how many frames of the stretch stand for what was skipped.
func (an *analyzer) filled() int {
	if an.turn == nil {
		return 0
	}
	first := int(math.Ceil(an.turn.at)) - an.turn.skip/2
	return max(0, min(an.span.end, first+an.turn.skip)-max(an.span.first, first))
}

// sideNoise is that of the bins, for the frames that count.
func (an *analyzer) sideNoise(hz float64) (s [][]complex128, used int) {
	s, used = an.bins.sideNoise(hz, an.avoid, sideBins)
	n := float64(an.span.end - an.span.first)
	scale := complex(num.Sq(n/(n-float64(an.filled()))), 0)
	for i := range s {
		for j := range s[i] {
			s[i][j] *= scale
		}
	}
	return s, used
}

// judgeTurned takes the mains from the fit around the turn, and sets LineU: what the
// frequency of a line under a tone leaves open, and what its swinging leaves.
func (an *analyzer) judgeTurned() {
	h := an.around
	h.fillMains()
	if h.hum.present {
		an.out.Mains = h.out.Mains
	}
	swing := h.swing()
	for i := range an.out.Tones {
		t := &an.out.Tones[i]
		own, line := h.lineUnder(t.FreqHz)
		for ch := range t.LineU {
			v := t.Cov.At(2*ch, 2*ch)
			if own >= 0 {
				v *= h.joint.Pull[ch][own]
			} else {
				v = 0
			}
			if line >= 0 {
				v += 2 * num.SqAbs(h.joint.Amp[ch][line]) * swing * swing
			}
			t.LineU[ch] = math.Sqrt(v)
		}
	}
}

// lineUnder returns the line of a tone and that of the mains under it, −1 for none.
func (an *analyzer) lineUnder(hz float64) (tone, mains int) {
	tone, mains = -1, -1
	m := an.joint.Model
	near := an.bins.stepHz * 1.5
	for l, ln := range m.Lines {
		d := math.Abs(m.FreqHz(ln) - hz)
		switch {
		case ln.Turned && ln.Order == 1 && d < near:
			tone = l
		case ln.Mains && d < near:
			mains = l
		}
	}
	return tone, mains
}

// swing returns by how much the amplitude of hum swings, relative and rms: the power of
// the three bins on each side of its lines over that of the lines, beyond noise.
func (an *analyzer) swing() float64 {
	beside, lines := 0.0, 0.0
	m := an.joint.Model
	for l, ln := range m.Lines {
		if !ln.Mains {
			continue
		}
		hz := m.FreqHz(ln)
		s, used := an.sideNoise(hz)
		at := int(math.Round(hz / an.bins.stepHz))
		for ch := range an.joint.Amp {
			a, noise := num.SqAbs(an.joint.Amp[ch][l]), real(s[ch][ch])
			if a < detectOver(used)*noise || at < 4 || at+3 >= an.bins.len() {
				continue
			}
			p := 0.0
			for d := 1; d <= 3; d++ {
				p += (num.SqAbs(an.bins.x[ch][at-d]) + num.SqAbs(an.bins.x[ch][at+d])) / 6
			}
			beside += math.Max(0, p-noise)
			lines += a
		}
	}
	if lines == 0 {
		return 0
	}
	return math.Sqrt(beside / lines)
}

// turning says that this is the fit around a turn.
func (an *analyzer) turning() bool { return an.turn != nil && an.around == nil }

// besideHum lists the lines that no hum can be told from.
func (an *analyzer) besideHum() []float64 {
	var out []float64
	m := an.joint.Model
	for _, l := range m.Lines {
		if !l.Turned {
			out = append(out, m.FreqHz(l))
		}
	}
	return out
}

// addUnder adds the mains lines under turned tones that are none of the first ten.
func (an *analyzer) addUnder() {
	for _, l := range an.model.Lines {
		if l.Turned && l.Order == 1 {
			hz := an.model.FreqHz(l)
			if k := int(math.Round(hz / an.model.MainsHz)); k > humOrders && k <= joint.HiddenOrders {
				an.addMainsLine(k)
			}
		}
	}
}

// addUnseen adds a line under each turned tone where no hum is seen, of the mains whose
// multiple it may be.
func (an *analyzer) addUnseen(residual [][]float64) {
	for _, base := range an.mainsCandidates() {
		for _, l := range an.model.Lines {
			hz := an.model.FreqHz(l)
			k := math.Max(1, math.Round(hz/base))
			if !l.Turned || l.Order != 1 || k > joint.HiddenOrders || math.Abs(hz-k*base) > joint.ApartBins/an.seconds()+0.1*k {
				continue
			}
			if !an.model.FreeMains {
				m := &an.model
				m.MainsHz, m.MainsCentre, m.MainsBound, m.FreeMains = base, base, 1.5*mainsReachHz, true
				m.MainsHz = seekBase(residual, an.sig.RateHz, base, an.besideHum(), an.peak()).mainsHz
			}
			an.addMainsLine(int(k))
		}
		if an.model.FreeMains {
			return
		}
	}
}

// asPlayed returns the samples of the stretch as they came but for the sign of the second
// half, without what was skipped.
func (an *analyzer) asPlayed(ch int) []float64 {
	x := append([]float64(nil), an.raw.Channels[ch][an.span.first:an.span.end]...)
	for i := range x {
		if float64(i+an.span.first) > an.turn.at {
			x[i] = -x[i]
		}
	}
	return an.beside(x)
}

// beside returns a stretch without what was skipped.
func (an *analyzer) beside(x []float64) []float64 {
	first := int(math.Ceil(an.turn.at)) - an.turn.skip/2 - an.span.first
	from, to := max(0, min(len(x), first)), max(0, min(len(x), first+an.turn.skip))
	return append(append([]float64(nil), x[:from]...), x[to:]...)
}
