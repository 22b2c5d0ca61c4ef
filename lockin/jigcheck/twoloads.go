package jigcheck

import (
	"math"
	"math/cmplx"
)

// twoLoads takes the place of an open with the two loads that lie farthest apart, as
//
//	Q/P = r(1/(R + Z) + Y)
//
// with two R has one r and one Y. ok is false where there are no two.
func (x *exam) twoLoads(s *residuals) (ok bool) {
	short, shortU, nShort := x.over(Short, s.freqHz, false)
	s.hasShort = nShort > 0
	small, large := x.extremes()
	if small == nil || large.Load.Ohm < 2*small.Load.Ohm {
		return false
	}
	a, okA := x.pair(small, s.freqHz)
	b, okB := x.pair(large, s.freqHz)
	if !okA || !okB || a.p == 0 || b.p == 0 {
		return false
	}
	qa, qb := a.q/a.p, b.q/b.p
	for range 4 {
		s.short, s.shortU = short*s.r, shortU*cmplx.Abs(s.r)
		ya, yb := 1/(loadOhm(x.Jig, small.Load, s.freqHz)+s.short), 1/(loadOhm(x.Jig, large.Load, s.freqHz)+s.short)
		s.r = (qa - qb) / (ya - yb)
		s.open = qb/s.r - yb
	}
	series := math.Hypot(x.Jig.ContactOhm, s.shortU)
	if !s.hasShort {
		series = math.Hypot(series, assumedLeadOhm)
	}
	u := func(p ratio, r *Recording) float64 {
		rel := math.Hypot(math.Hypot(p.uP, p.sharedP)/cmplx.Abs(p.p), math.Hypot(p.uQ, p.sharedQ)/cmplx.Abs(p.q))
		return math.Hypot(rel, math.Hypot(r.Load.Tolerance/math.Sqrt(3), series/r.Load.Ohm))
	}
	uA, uB := u(a, small), u(b, large)
	// r follows the small load, and Y what the large one leaves beside r.
	share := large.Load.Ohm / (large.Load.Ohm - small.Load.Ohm)
	s.rU = share * math.Hypot(uA, uB*small.Load.Ohm/large.Load.Ohm)
	s.openU = share * math.Hypot(uA, uB) / large.Load.Ohm
	s.hasOpen = true
	return true
}

// extremes are recordings of the smallest and the largest load; nil without any.
func (x *exam) extremes() (small, large *Recording) {
	for _, r := range x.of(Load) {
		if small == nil || r.Load.Ohm < small.Load.Ohm {
			small = r
		}
		if large == nil || r.Load.Ohm > large.Load.Ohm {
			large = r
		}
	}
	return small, large
}
