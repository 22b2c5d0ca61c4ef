package jigcheck

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"

	"gonum.org/v1/gonum/mat"

	"example.org/wheatear/lockin/finding"
)

// sense is which way round something was found to be.
type sense int

const (
	untold sense = iota
	asNamed
	otherWay
)

// wiring finds inputs that are exchanged and puts them right, so that all else is told
// of the inputs as the jig file has them. Standards tell by what the wiring makes of
// them, closed plugs by which input falls silent; a plug that was pulled in place of
// the other is no fault of the jig.
func (x *exam) wiring() {
	inputs, plugs := x.inputsBy(), x.plugs()
	switch {
	case inputs == otherWay:
		x.swapped()
		x.exchange(func(r Recording) Recording { return r.exchanged() })
		if plugs == asNamed { // the plug of the input that the card calls so
			x.exchange(otherPlug)
		}
	case plugs == otherWay && inputs == asNamed:
		x.note("The inputs fell silent the other way round when their plugs were closed: the two steps were taken for each other.")
		x.exchange(otherPlug)
	case plugs == otherWay:
		x.note("The inputs fell silent the other way round when their plugs were closed: either the inputs are exchanged or the plugs were; open, short and load would tell.")
		x.Recordings = slices.DeleteFunc(slices.Clone(x.Recordings), func(r Recording) bool { return r.Step == Terminated1 || r.Step == Terminated2 })
	}
}

// swapped names exchanged inputs.
func (x *exam) swapped() {
	none := math.NaN()
	x.fault(Fault{Code: finding.Swapped, Severity: finding.Invalid, Value: quantity{Value: none, U: none, Low: none, High: none}, Limit: none,
		Detail: fmt.Sprintf("the inputs are exchanged: known things read as what they are once input 1 is taken for input 2; now input 1 hears what the jig file calls %s, and input 2 %s",
			x.Jig.Channels[1], x.Jig.Channels[0]),
		Advice: fmt.Sprintf("exchange the two plugs, or write inputs = [%d, %d] into the jig file; all else here is told of the inputs put right", x.Jig.Inputs[1], x.Jig.Inputs[0])})
}

func (x *exam) exchange(by func(Recording) Recording) {
	out := make([]Recording, len(x.Recordings))
	for i, r := range x.Recordings {
		out[i] = by(r)
	}
	x.Recordings = out
}

// inputsBy asks each known thing whether it can be what it is as the inputs are, and
// with the inputs exchanged. What fits both ways or neither tells nothing; two different
// things must agree.
func (x *exam) inputsBy() sense {
	told := map[sense]map[string]bool{asNamed: {}, otherWay: {}}
	for _, step := range []Step{Open, Short, Load, Check} {
		for _, r := range x.of(step) {
			if s := x.fitsBy(r); s != untold {
				told[s][fmt.Sprint(step, r.Load)] = true
			}
		}
	}
	switch {
	case len(told[asNamed]) > 0:
		return asNamed
	case len(told[otherWay]) > 1:
		return otherWay
	}
	return untold
}

func (x *exam) fitsBy(r *Recording) sense {
	h, ok := r.middle()
	if !ok {
		return untold
	}
	first, second := h.h[0], h.h[1]/complex(x.scale(), 0)
	straight, crossed := x.fits(r, first, second), x.fits(r, second, first)
	switch {
	case straight && !crossed:
		return asNamed
	case crossed && !straight:
		return otherWay
	}
	return untold
}

// fits reports whether a known thing can be behind two voltages, with much room for
// gains, leads and tolerances.
func (x *exam) fits(r *Recording, first, second complex128) bool {
	const little, near = 0.3, 0.5
	p, q := x.Jig.Channels.Inverse(first, second)
	switch r.Step {
	case Open:
		return cmplx.Abs(q) < little*cmplx.Abs(p)
	case Short:
		return cmplx.Abs(p) < little*cmplx.Abs(q)
	}
	return q != 0 && cmplx.Abs(p/q*complex(x.Jig.ReferenceOhm/r.Load.Ohm, 0)-1) < near
}

// plugs tells which input fell silent when a plug was closed.
func (x *exam) plugs() sense {
	const silent = 0.1 // of the other input
	var right, wrong bool
	for closed, step := range []Step{Terminated1, Terminated2} {
		for _, r := range x.of(step) {
			h, ok := r.middle()
			if !ok {
				continue
			}
			own, other := cmplx.Abs(h.h[closed]), cmplx.Abs(h.h[1-closed])
			right, wrong = right || own < silent*other, wrong || other < silent*own
		}
	}
	switch {
	case right && !wrong:
		return asNamed
	case wrong && !right:
		return otherWay
	}
	return untold
}

// middle is the tone nearest to 1 kHz.
func (r *Recording) middle() (heard, bool) {
	if r.Analysis == nil {
		return heard{}, false
	}
	t := r.Analysis.Tone(1000)
	if t == nil {
		return heard{}, false
	}
	return r.at(t.NominalHz)
}

// otherPlug is a recording with the other plug closed.
func otherPlug(r Recording) Recording {
	switch r.Step {
	case Terminated1:
		r.Step = Terminated2
	case Terminated2:
		r.Step = Terminated1
	}
	return r
}

// exchanged is a recording with its inputs exchanged.
func (r Recording) exchanged() Recording {
	r.Signal.Channels = turned(r.Signal.Channels)
	if r.Analysis == nil {
		return r
	}
	a := *r.Analysis
	a.Offset, a.NoiseRMS, a.Peak, a.Silent = turned(a.Offset), turned(a.NoiseRMS), turned(a.Peak), turned(a.Silent)
	a.Tones = slices.Clone(a.Tones)
	for i := range a.Tones {
		t := &a.Tones[i]
		t.Phasors, t.LineU, t.Harmonics, t.HarmonicU, t.Detected = turned(t.Phasors), turned(t.LineU), turned(t.Harmonics), turned(t.HarmonicU), turned(t.Detected)
		t.Cov = turnedCov(t.Cov)
	}
	r.Analysis = &a
	return r
}

// turned has the first two entries exchanged.
func turned[T any](list []T) []T {
	if len(list) < 2 {
		return list
	}
	out := slices.Clone(list)
	out[0], out[1] = out[1], out[0]
	return out
}

func turnedCov(c *mat.SymDense) *mat.SymDense {
	if c == nil || c.SymmetricDim() < 4 {
		return c
	}
	n := c.SymmetricDim()
	place := make([]int, n)
	for i := range place {
		place[i] = i
	}
	copy(place, []int{2, 3, 0, 1})
	out := mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			out.SetSym(i, j, c.At(place[i], place[j]))
		}
	}
	return out
}
