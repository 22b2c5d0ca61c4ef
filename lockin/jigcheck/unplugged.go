package jigcheck

import (
	"math"
	"math/cmplx"

	"example.org/wheatear/lockin/fixture"
)

// shared parts the conductance that two differential inputs take of the node between
// part and reference, by what one hears more of when the other is unplugged. With the
// source behind Rs, the load Z and the reference R, to first order
//
//	part's input off:      V(reference) grows by G·(R·(Rs + Z)/(Rs + Z + R) + Rs·(Z + R)/(Rs + Z + R))
//	reference's input off: V(part) falls by G·R²/(Rs + Z + R)
//
// It needs the levels to stand; ok is false where they tell less than a tenth of the
// whole apart.
func (x *exam) shared(inputs []int, whole quantity) (each []quantity, ok bool) {
	if len(inputs) != 2 || x.sourceOhm == 0 || whole.Value <= 0 {
		return nil, false
	}
	f := nearest(x.freqs, 1000)
	stands := x.standing(f)
	r, rs := x.Jig.ReferenceOhm, x.sourceOhm
	for k, i := range inputs {
		off := x.of([]Step{Terminated1, Terminated2}[i])
		if len(off) == 0 || off[0].Load == nil {
			return nil, false
		}
		before, u1, ok1 := x.level(Load, off[0].Load, 1-i, f)
		after, u2, ok2 := x.level(off[0].Step, off[0].Load, 1-i, f)
		if !ok1 || !ok2 {
			return nil, false
		}
		z := off[0].Load.Ohm
		all := rs + z + r
		per := -r * r / all // of the reference's input, which comes first
		if k == 1 {
			per = (r*(rs+z) + rs*(z+r)) / all
		}
		u := math.Hypot(math.Hypot(u1/before, u2/after), stands) / math.Abs(per)
		each = append(each, normal((after/before-1)/per, u))
	}
	if math.Hypot(each[0].U, each[1].U) > whole.Value/10 {
		return nil, false
	}
	// Both together are known better than their shares.
	rest := (whole.Value - each[0].Value - each[1].Value) / 2
	for i := range each {
		each[i] = normal(each[i].Value+rest, math.Hypot(each[i].U, math.Abs(rest)))
	}
	return each, true
}

// onSource tells what the input takes that lies right behind the source, total or the part
// before a virtual ground: what the other input hears more of without it. With the source
// behind Rs and Zt all else that it drives, the level grows by G·Rs·Zt/(Rs + Zt). It does
// no harm to ratios, and it takes a source that is not stiff to be seen.
func (x *exam) onSource() {
	i := x.Jig.Channels.Index(fixture.Total)
	if x.Jig.Channels.Virtual() {
		i = x.Jig.Channels.Index(fixture.Part)
	}
	if i < 0 || x.sourceOhm <= 0 {
		return
	}
	off := x.of([]Step{Terminated1, Terminated2}[i])
	if len(off) == 0 || off[0].Load == nil {
		return
	}
	f := nearest(x.freqs, 1000)
	before, u1, ok1 := x.level(Load, off[0].Load, 1-i, f)
	after, u2, ok2 := x.level(off[0].Step, off[0].Load, 1-i, f)
	if !ok1 || !ok2 {
		return
	}
	zt := off[0].Load.Ohm
	if !x.Jig.Channels.Virtual() {
		zt += x.Jig.ReferenceOhm
	}
	per := x.sourceOhm * zt / (x.sourceOhm + zt)
	g := normal((after/before-1)/per, math.Hypot(math.Hypot(u1/before, u2/after), x.standing(f))/per)
	if g.U < x.mostSiemens([]int{i})/10 { // else it says nothing
		x.input([]int{i}, g)
	}
}

// level is what lies on an input per amplitude played, with a load in.
func (x *exam) level(step Step, load *fixture.Load, input int, f float64) (level, u float64, ok bool) {
	n := 0.0
	for _, r := range x.of(step) {
		h, heard := r.at(f)
		played := playedAt(r.Played, f)
		if !heard || played == 0 || r.Load == nil || *r.Load != *load {
			continue
		}
		// What leaks in from the other input goes with it when it is unplugged.
		in := x.inputs[f]
		v, own := in.volts(h)
		level += cmplx.Abs(v[input]) / played
		u += math.Hypot(own[input], in.crossU[input]*cmplx.Abs(v[1-input])) / played
		n++
	}
	if n == 0 || level == 0 {
		return 0, 0, false
	}
	return level / n, u / n, true
}

// standing is how well levels stand from recording to recording, relative.
func (x *exam) standing(f float64) float64 {
	const assumed = 1e-4 // where nobody looked: common practice, no source
	worst := 0.0
	for ch := range 2 {
		var levels []float64
		for _, r := range x.of(Drift) {
			if h, ok := r.at(f); ok {
				levels = append(levels, cmplx.Abs(h.h[ch]))
			}
		}
		if len(levels) < 4 {
			return assumed
		}
		mean, sd := spread(levels)
		worst = math.Max(worst, sd/mean)
	}
	return worst * math.Sqrt2
}
