package record

import (
	"errors"
	"math"
	"sort"

	"example.org/wheatear/lockin/internal/joint"
	"example.org/wheatear/lockin/internal/num"
)

// Harmonics are fitted for a few tones; with many, they fall among the tones. What stands
// beside them, as hum and tone make it in a curve, does not count.
const mostTonesWithHarmonics = 3

// fit runs the joint fit: tones alone to find the mains, then everything; lines
// further up and edges that do not fit are seen in the residual.
func (an *analyzer) fit() error {
	an.untrimmed = an.span
	an.untrimmed.end += an.span.margin
	for round := 0; ; round++ {
		err := an.fitSpan()
		if errors.Is(err, joint.ErrSingular) && !an.bare {
			an.bare = true
			err = an.fitSpan()
		}
		if err != nil {
			return err
		}
		if round == mostTrims || an.cfg.Whole || !an.trimEdges() {
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
	if !an.bare && !an.turning() && an.addBeside(first) {
		if first, err = an.fitRough(x); err != nil {
			return err
		}
	}
	an.hum = humFit{}
	if !an.cfg.NoMains {
		an.hum = seekHum(first.Residual, an.sig.RateHz, an.mainsCandidates(), an.besideHum(), an.peak())
	}
	copy(an.model.Eps, first.Model.Eps)
	alone := an.model
	switch {
	case an.hum.present:
		an.addMains()
		an.addUnder()
	case an.turn != nil && !an.cfg.NoMains:
		an.addUnseen(first.Residual)
	}
	if err = an.fitFine(x); errors.Is(err, joint.ErrSingular) && (an.hum.present || an.turn != nil) {
		an.model, an.hum = alone, humFit{}
		err = an.fitFine(x)
	}
	if err == nil && an.hum.present && an.addHighMains() {
		err = an.fitMore(x)
	}
	if err == nil && an.turning() && !an.bare && an.addBeside(an.joint) {
		an.addBesideLines()
		err = an.fitMore(x)
	}
	return err
}

// fitMore fits what was added to the model, where that can be told apart.
func (an *analyzer) fitMore(x [][]float64) error {
	before := an.joint
	err := an.fitFine(x)
	if errors.Is(err, joint.ErrSingular) {
		an.joint, err = before, nil
	}
	return err
}

// fitRough fits the tones alone.
func (an *analyzer) fitRough(x [][]float64) (*joint.Fit, error) {
	an.model = an.toneModel()
	f, err := joint.Solve(x, an.model, joint.Rough)
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
	if an.joint, err = joint.Solve(x, an.model, joint.Fine); err != nil {
		return err
	}
	an.bins = newBins(an.joint.Residual, an.sig.RateHz, an.transforms)
	return nil
}

// toneModel holds the tones, their harmonics and a slow drift.
func (an *analyzer) toneModel() joint.Model {
	m := joint.Model{RateHz: an.sig.RateHz, Degree: 2, ChirpMax: 0.1}
	if an.turning() {
		m.Skip = an.turn.skip
	}
	an.prune()
	an.shareClocks(&m)
	for i, t := range an.tones {
		m.FreeEps = m.FreeEps || t.power > 0
		m.Lines = append(m.Lines, an.toneLine(&m, i, t))
	}
	an.holdClocks(&m)
	if len(an.foundHz()) <= mostTonesWithHarmonics && !an.bare {
		for i, t := range an.tones {
			if t.origin != beside || len(an.tones) <= mostTonesWithHarmonics {
				an.addHarmonics(&m, i)
			}
		}
	}
	return m
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

// dropBeside forgets what was found beside the tones in another stretch.
func (an *analyzer) dropBeside() {
	for i, t := range an.tones {
		if t.origin == beside {
			an.tones = an.tones[:i]
			return
		}
	}
}

// Even harmonics above this order tell nothing that is used.
const highestEven = 4

// addHarmonics adds those multiples of tone i that lie clear of everything else.
func (an *analyzer) addHarmonics(m *joint.Model, i int) {
	for k := 2; k <= an.cfg.MaxHarmonic; k++ {
		if k > highestEven && k%2 == 0 {
			continue
		}
		l := joint.Line{Base: m.Lines[i].Base * float64(k), Tone: i, Order: k, Clock: m.Lines[i].Clock,
			Turned: m.Lines[i].Turned && k%2 == 1}
		if hz := m.FreqHz(l); hz < 0.49*an.sig.RateHz && !near(hz, m.AllHz(), 1.5/an.seconds()) {
			m.Lines = append(m.Lines, l)
		}
	}
}

func (an *analyzer) modelledHz() []float64 {
	m := an.model
	if an.joint != nil {
		m = *an.joint.Model
	}
	return m.AllHz()
}

// addMains adds the mains lines to the model. Where one falls on a tone the tone
// stays; where one falls on a harmonic the mains line does.
func (an *analyzer) addMains() {
	m := &an.model
	m.MainsHz, m.MainsCentre, m.MainsBound = an.hum.mainsHz, an.hum.baseHz, 1.5*mainsReachHz
	m.FreeMains = true
	for order := 1; order <= humOrders; order++ {
		an.addMainsLine(order)
	}
}

func (an *analyzer) addMainsLine(order int) {
	m := &an.model
	hz := float64(order) * m.MainsHz
	reach := joint.ApartBins / an.seconds()
	if hz > 0.49*m.RateHz || m.HasMains(order) {
		return
	}
	kept := make([]joint.Line, 0, len(m.Lines)+1)
	for _, l := range m.Lines {
		clash := math.Abs(m.FreqHz(l)-hz) < reach && !l.Turned
		if clash && l.Order == 1 && !l.Mains {
			return
		}
		if !clash {
			kept = append(kept, l)
		}
	}
	m.Lines = append(kept, joint.Line{Mains: true, Base: float64(order), Tone: -1, Order: order})
}

// addHighMains adds, now that the mains frequency is known well, those of the first ten
// multiples that seemed to stand on a tone and do not, and multiples beyond that stand
// out of the residual.
func (an *analyzer) addHighMains() bool {
	spec := an.bins.tapered()
	mains := an.joint.Model.MainsHz
	before := len(an.model.Lines)
	an.model.MainsHz = mains
	copy(an.model.Eps, an.joint.Model.Eps)
	for order := 1; order <= humOrders; order++ {
		an.addMainsLine(order)
	}
	for order := humOrders + 1; order <= humOrdersMax; order++ {
		hz := mains * float64(order)
		if hz > 0.45*an.sig.RateHz {
			break
		}
		_, p, ok := spec.peakNear(hz-spec.stepHz, hz+spec.stepHz)
		if ok && p > num.Sq(humFaintest*an.peak()) && !an.overtone(hz, 2*spec.stepHz) && p > humOver*spec.floor(hz-30*spec.stepHz, hz+30*spec.stepHz) {
			an.addMainsLine(order)
		}
	}
	return len(an.model.Lines) > before
}

// overtone says whether hz lies on a harmonic of a tone, folded back into the band
// where need be: distortion makes those, and they may fall on mains multiples.
func (an *analyzer) overtone(hz, reach float64) bool {
	for _, l := range an.model.Lines {
		if l.Mains || l.Order > 1 {
			continue
		}
		f := an.model.FreqHz(l)
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
	for _, r := range an.joint.Residual {
		typical := medianPower(r, w)
		if num.MeanSquare(r[:w]) > edgeOver*typical {
			head = max(head, lastAbove(r[:w], sampleOver*typical)+edgeGuard)
		}
		if num.MeanSquare(r[n-w:]) > edgeOver*typical {
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
		p = append(p, num.MeanSquare(x[at:at+w]))
	}
	sort.Float64s(p)
	return p[len(p)/2]
}
