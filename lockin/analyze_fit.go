package lockin

import (
	"errors"
	"math"
	"sort"
)

// Lines closer than this many bins (of 1/T) cannot be told apart without blowing up
// the variance: two tones 0.8 bins apart inflate each other's by 1/(1-sinc²(0.8)) = 1.06.
const apartBins = 0.8

// Harmonics are fitted for a few tones; with many, they fall among the tones.
const mostTonesWithHarmonics = 3

// fit runs the joint fit: tones alone to find the mains, then everything; lines
// further up and edges that do not fit are seen in the residual.
func (an *analyzer) fit() error {
	an.untrimmed = an.span
	an.untrimmed.end += an.span.margin
	for round := 0; ; round++ {
		if err := an.fitSpan(); err != nil {
			return err
		}
		if round == mostTrims || !an.trimEdges() {
			return nil
		}
	}
}

func (an *analyzer) fitSpan() error {
	x := an.used().Channels
	an.dropBeside()
	first, err := an.fitRough(x)
	if err != nil {
		return err
	}
	if an.addBeside(first) {
		if first, err = an.fitRough(x); err != nil {
			return err
		}
	}
	an.hum = seekHum(first.residual, an.sig.RateHz, an.mainsCandidates(), an.modelledHz(), an.peak())
	copy(an.model.eps, first.model.eps)
	alone := an.model
	if an.hum.present {
		an.addMains()
	}
	if err = an.fitFine(x); errors.Is(err, errSingular) && an.hum.present {
		an.model, an.hum = alone, humFit{}
		err = an.fitFine(x)
	}
	if err != nil || !an.hum.present || !an.addHighMains() {
		return err
	}
	before := an.joint
	if err = an.fitFine(x); errors.Is(err, errSingular) {
		an.joint, err = before, nil
	}
	return err
}

// fitRough fits the tones alone.
func (an *analyzer) fitRough(x [][]float64) (*jointFit, error) {
	an.model = an.toneModel()
	f, err := fitJoint(x, an.model, roughFit)
	an.joint = f
	return f, err
}

// peak returns the largest sample of all channels.
func (an *analyzer) peak() float64 {
	p := 0.0
	for _, v := range an.out.Peak {
		p = math.Max(p, v)
	}
	return p
}

// fitFine fits the model to the end and transforms what it leaves.
func (an *analyzer) fitFine(x [][]float64) (err error) {
	if an.joint, err = fitJoint(x, an.model, fineFit); err != nil {
		return err
	}
	an.bins = newBins(an.joint.residual, an.sig.RateHz, an.transforms)
	return nil
}

// toneModel holds the tones, their harmonics and a slow drift.
func (an *analyzer) toneModel() jointModel {
	m := jointModel{rateHz: an.sig.RateHz, degree: 2, chirpMax: 0.1}
	an.prune()
	m.addClock(0, 0.6/(an.seconds()*an.clockTone().foundHz))
	if off := an.clockTone().foundHz/an.clockTone().nominalHz - 1; math.Abs(off) <= clockSearch {
		m.eps[0] = off
	}
	for i, t := range an.tones {
		m.freeEps = m.freeEps || t.power > 0
		m.lines = append(m.lines, an.toneLine(&m, i, t))
	}
	if len(an.tones) <= mostTonesWithHarmonics {
		for i := range an.tones {
			an.addHarmonics(&m, i)
		}
	}
	return m
}

func (m *jointModel) addClock(eps, bound float64) {
	m.eps, m.epsBound = append(m.eps, eps), append(m.epsBound, bound)
}

// toneLine returns the line of tone i: on the common clock where it was asked for and
// stands where that puts it, on a clock of its own where it was only found.
func (an *analyzer) toneLine(m *jointModel, i int, t located) line {
	l := line{base: t.nominalHz, tone: i, order: 1}
	if t.origin != asked {
		l.base, l.clock = t.foundHz, len(m.eps)
		m.addClock(0, 0.6/(an.seconds()*t.foundHz))
		return l
	}
	if t.power > 0 && math.Abs(t.foundHz-l.base*(1+m.eps[0])) > 0.5/an.seconds()+50e-6*l.base {
		l.base = t.foundHz / (1 + m.eps[0])
	}
	return l
}

// prune drops tones that nobody asked for where the stretch is too short to separate
// them from a stronger one.
func (an *analyzer) prune() {
	kept := an.tones[:0]
	for i, t := range an.tones {
		clash := false
		for j, u := range an.tones {
			clash = clash || i != j && u.power >= t.power && math.Abs(u.foundHz-t.foundHz) < 1.5/an.seconds()
		}
		if t.origin == asked || !clash {
			kept = append(kept, t)
		}
	}
	an.tones = kept
}

// clockTone returns the tone that tells most about the clocks: information on ε
// grows with the power and with the square of the frequency.
func (an *analyzer) clockTone() located {
	best := an.tones[0]
	for _, t := range an.tones {
		if t.origin != beside && t.power*t.foundHz*t.foundHz > best.power*best.foundHz*best.foundHz {
			best = t
		}
	}
	return best
}

// What stands beside the tones asked for is fitted too, where it is within 60 dB of
// the strongest and well above the noise: left in, it would be taken for noise or hum.
const (
	besideShare = 1e-6
	besideOver  = 200
)

// addBeside finds tones in a residual that are neither hum nor overtones.
func (an *analyzer) addBeside(f *jointFit) bool {
	if an.tones[0].origin == found {
		return false
	}
	spec := newBins(f.residual, an.sig.RateHz, an.transforms).tapered()
	floor := spec.floor(0, an.sig.RateHz/2)
	strongest := an.strongestPower()
	peaks := spec.peaks(math.Max(besideOver*floor, besideShare*strongest))
	before := len(an.tones)
	for _, p := range an.withoutMains(peaks, spec.stepHz) {
		if len(an.tones) == mostTones {
			break
		}
		weakOvertone := p.power < 0.01*strongest && an.overtone(p.foundHz, 2*spec.stepHz)
		if p.foundHz < highestTone*an.sig.RateHz && !weakOvertone &&
			!near(p.foundHz, an.foundHz(), 4*spec.stepHz) && !near(p.foundHz, an.modelledHz(), spec.stepHz) {
			p.origin = beside
			an.tones = append(an.tones, p)
		}
	}
	return len(an.tones) > before
}

func (an *analyzer) strongestPower() float64 {
	p := 0.0
	for _, t := range an.tones {
		p = math.Max(p, t.power)
	}
	return p
}

// dropBeside forgets what was found beside the tones in another stretch.
func (an *analyzer) dropBeside() {
	for i, t := range an.tones {
		if t.origin == beside {
			an.tones = an.tones[:i]
			return
		}
	}
}

// addHarmonics adds those multiples of tone i that lie clear of everything else.
func (an *analyzer) addHarmonics(m *jointModel, i int) {
	for k := 2; k <= an.cfg.MaxHarmonic; k++ {
		l := line{base: m.lines[i].base * float64(k), tone: i, order: k, clock: m.lines[i].clock}
		if hz := m.freqHz(l); hz < 0.49*an.sig.RateHz && !near(hz, m.allHz(), 1.5/an.seconds()) {
			m.lines = append(m.lines, l)
		}
	}
}

func (m *jointModel) allHz() []float64 {
	out := make([]float64, len(m.lines))
	for i, l := range m.lines {
		out[i] = m.freqHz(l)
	}
	return out
}

func (an *analyzer) modelledHz() []float64 {
	m := an.model
	if an.joint != nil {
		m = *an.joint.model
	}
	return m.allHz()
}

// addMains adds the mains lines to the model. Where one falls on a tone the tone
// stays; where one falls on a harmonic the mains line does.
func (an *analyzer) addMains() {
	m := &an.model
	m.mainsHz, m.mainsCentre, m.mainsBound = an.hum.mainsHz, an.hum.baseHz, 1.5*mainsReachHz
	m.freeMains = true
	for order := 1; order <= humOrders; order++ {
		an.addMainsLine(order)
	}
}

func (an *analyzer) addMainsLine(order int) {
	m := &an.model
	hz := float64(order) * m.mainsHz
	reach := apartBins / an.seconds()
	if hz > 0.49*m.rateHz || m.hasMains(order) {
		return
	}
	kept := make([]line, 0, len(m.lines)+1)
	for _, l := range m.lines {
		clash := math.Abs(m.freqHz(l)-hz) < reach
		if clash && l.order == 1 && !l.mains {
			return
		}
		if !clash {
			kept = append(kept, l)
		}
	}
	m.lines = append(kept, line{mains: true, base: float64(order), tone: -1, order: order})
}

func (m *jointModel) hasMains(order int) bool {
	for _, l := range m.lines {
		if l.mains && l.order == order {
			return true
		}
	}
	return false
}

// addHighMains adds, now that the mains frequency is known well, those of the first ten
// multiples that seemed to stand on a tone and do not, and multiples beyond that stand
// out of the residual.
func (an *analyzer) addHighMains() bool {
	spec := an.bins.tapered()
	mains := an.joint.model.mainsHz
	before := len(an.model.lines)
	an.model.mainsHz = mains
	copy(an.model.eps, an.joint.model.eps)
	for order := 1; order <= humOrders; order++ {
		an.addMainsLine(order)
	}
	for order := humOrders + 1; order <= humOrdersMax; order++ {
		hz := mains * float64(order)
		if hz > 0.45*an.sig.RateHz {
			break
		}
		_, p, ok := spec.peakNear(hz-spec.stepHz, hz+spec.stepHz)
		if ok && p > sq(humFaintest*an.peak()) && !an.overtone(hz, 2*spec.stepHz) && p > humOver*spec.floor(hz-30*spec.stepHz, hz+30*spec.stepHz) {
			an.addMainsLine(order)
		}
	}
	return len(an.model.lines) > before
}

// overtone says whether hz lies on a harmonic of a tone, folded back into the band
// where need be: distortion makes those, and they may fall on mains multiples.
func (an *analyzer) overtone(hz, reach float64) bool {
	for _, l := range an.model.lines {
		if l.mains || l.order > 1 {
			continue
		}
		f := an.model.freqHz(l)
		for k := 2.0; k <= 50; k++ {
			alias := math.Abs(math.Remainder(k*f, an.sig.RateHz))
			if math.Abs(alias-hz) < reach {
				return true
			}
		}
	}
	return false
}

// A fade, a transient or the end of the tone that the envelope did not show makes
// the residual stand out at an edge; what stands out is cut and the fit done again.
const (
	mostTrims  = 6
	edgeShare  = 0.02 // of the stretch looked at on each side
	edgeOver   = 6.0  // mean square in it, against the middle
	sampleOver = 36.0 // square of a sample that is cut, likewise
	edgeGuard  = 4    // samples cut beyond the last of them
)

// trimEdges cuts an edge of the stretch where the residual is far above its middle.
func (an *analyzer) trimEdges() bool {
	n := an.span.end - an.span.first
	w := int(edgeShare * float64(n))
	if w < 16 || n < 20*minFrames {
		return false
	}
	head, tail := 0, 0
	for _, r := range an.joint.residual {
		typical := medianPower(r, w)
		if meanSquare(r[:w]) > edgeOver*typical {
			head = max(head, lastAbove(r[:w], sampleOver*typical)+edgeGuard)
		}
		if meanSquare(r[n-w:]) > edgeOver*typical {
			tail = max(tail, w-firstAbove(r[n-w:], sampleOver*typical)+edgeGuard)
		}
	}
	an.span.first += head
	an.span.end -= tail
	return head+tail > 0
}

// lastAbove and firstAbove return the outermost index whose square passes a limit,
// or the far end of the window where none does.
func lastAbove(r []float64, limit float64) int {
	for i := len(r) - 1; i >= 0; i-- {
		if r[i]*r[i] > limit {
			return i + 1
		}
	}
	return len(r)
}

func firstAbove(r []float64, limit float64) int {
	for i := range r {
		if r[i]*r[i] > limit {
			return i
		}
	}
	return 0
}

// medianPower returns the median over windows of w samples of the mean square.
func medianPower(x []float64, w int) float64 {
	var p []float64
	for at := 0; at+w <= len(x); at += w {
		p = append(p, meanSquare(x[at:at+w]))
	}
	sort.Float64s(p)
	return p[len(p)/2]
}
