package jigcheck

import (
	"fmt"
	"math"
	"math/cmplx"

	"example.org/wheatear/lockin/fixture"
)

// residuals is what the jig adds at one frequency, found from open, short and loads.
type residuals struct {
	freqHz   float64
	r        complex128 // the reference as its input leaves it, ohm
	rU       float64    // relative, each axis, without what loads share
	short    complex128 // ohm in series
	shortU   float64
	open     complex128 // siemens in parallel
	openU    float64
	hasOpen  bool
	hasShort bool
}

// ratio is P and Q of a recording with their standard uncertainties, each axis: noise and
// drift, the drift alone (which all tones of a record share), and what all recordings
// share because the inputs are known no better.
type ratio struct {
	p, q             complex128
	uP, uQ           float64
	driftP, driftQ   float64
	sharedP, sharedQ float64
}

// pair takes a recording to the voltages of part and reference.
func (x *exam) pair(r *Recording, f float64) (ratio, bool) {
	h, ok := r.at(f)
	if !ok {
		return ratio{}, false
	}
	in := x.inputs[f]
	v, u := in.volts(h)
	p, q := x.Jig.Channels.Inverse(v[0], v[1])
	p1, q1 := x.Jig.Channels.Inverse(1, 0)
	p2, q2 := x.Jig.Channels.Inverse(0, 1)
	// A gain that moves takes the second voltage with it.
	drift := x.drift * cmplx.Abs(v[1])
	u[1] = math.Hypot(u[1], drift)
	s := [2]float64{in.crossU[0] * cmplx.Abs(v[1]), math.Hypot(in.crossU[1]*cmplx.Abs(v[0]), in.gainU*cmplx.Abs(v[1]))}
	return ratio{p: p, q: q,
		uP: math.Hypot(cmplx.Abs(p1)*u[0], cmplx.Abs(p2)*u[1]), uQ: math.Hypot(cmplx.Abs(q1)*u[0], cmplx.Abs(q2)*u[1]),
		driftP: cmplx.Abs(p2) * drift, driftQ: cmplx.Abs(q2) * drift,
		sharedP: math.Hypot(cmplx.Abs(p1)*s[0], cmplx.Abs(p2)*s[1]), sharedQ: math.Hypot(cmplx.Abs(q1)*s[0], cmplx.Abs(q2)*s[1])}, true
}

// swapped has P and Q exchanged.
func (p ratio) swapped() ratio {
	return ratio{p.q, p.p, p.uQ, p.uP, p.driftQ, p.driftP, p.sharedQ, p.sharedP}
}

// over is numerator/denominator averaged over the recordings of a step.
func (x *exam) over(step Step, f float64, inverse bool) (mean complex128, u float64, n int) {
	own, shared := 0.0, 0.0
	for _, r := range x.of(step) {
		p, ok := x.pair(r, f)
		if !ok {
			continue
		}
		if inverse {
			p = p.swapped()
		}
		den := cmplx.Abs(p.q)
		if den < 10*math.Hypot(p.uQ, p.sharedQ) {
			continue
		}
		v := p.p / p.q
		mean += v
		own += sq(p.uP/den) + sq(cmplx.Abs(v)*p.uQ/den)
		shared = math.Max(shared, math.Hypot(p.sharedP, cmplx.Abs(v)*p.sharedQ)/den)
		n++
	}
	if n == 0 {
		return 0, 0, 0
	}
	return mean / complex(float64(n), 0), math.Hypot(math.Sqrt(own)/float64(n), shared), n
}

func sq(v float64) float64 { return v * v }

// network finds reference, loading, source and residuals.
func (x *exam) network() {
	var all []residuals
	for _, f := range x.freqs {
		all = append(all, x.residualsAt(f))
	}
	if len(all) == 0 {
		return
	}
	x.reportResiduals(all)
	x.source(all)
	x.reportReference(all)
}

// residualsAt solves, for the open (Q/P = r·Y), the short (P/Q = Z/r) and loads of
// known value (Q/P = r(1/(R + Z) + Y)), for r, Z and Y. The open and the short are
// small corrections in the equation of the loads, so a few turns settle all three.
func (x *exam) residualsAt(f float64) residuals {
	s := residuals{freqHz: f, r: complex(x.Jig.ReferenceOhm, 0)}
	open, openU, nOpen := x.over(Open, f, true)
	short, shortU, nShort := x.over(Short, f, false)
	s.hasOpen, s.hasShort = nOpen > 0, nShort > 0
	if !s.hasOpen && partLoadedBy(x.Jig.Channels) >= 0 && x.twoLoads(&s) {
		return s
	}
	for range 4 {
		if s.hasOpen {
			s.open, s.openU = open/s.r, openU/cmplx.Abs(s.r)
		}
		if s.hasShort {
			s.short, s.shortU = short*s.r, shortU*cmplx.Abs(s.r)
		}
		if r, u, ok := x.referenceFrom(Load, f, s); ok {
			s.r, s.rU = r, u
		}
	}
	return s
}

// referenceFrom averages r over the loads of a step, weighted by what is uncertain
// about each.
func (x *exam) referenceFrom(step Step, f float64, s residuals) (r complex128, u float64, ok bool) {
	sum, weight := complex(0, 0), 0.0
	for _, rec := range x.of(step) {
		if step == Reference && rec.Other == nil {
			continue
		}
		one, uOne, good := x.referenceOf(rec, f, s)
		if good {
			sum, weight = sum+one*complex(1/sq(uOne), 0), weight+1/sq(uOne)
		}
	}
	if weight == 0 {
		return 0, 0, false
	}
	r = sum / complex(weight, 0)
	return r, 1 / math.Sqrt(weight) / cmplx.Abs(r), true
}

// referenceOf is r by one recording of a load, with its standard uncertainty in ohm.
func (x *exam) referenceOf(rec *Recording, f float64, s residuals) (r complex128, u float64, ok bool) {
	p, ok := x.pair(rec, f)
	if !ok || cmplx.Abs(p.p) < 10*p.uP || cmplx.Abs(p.q) < 10*p.uQ {
		return 0, 0, false
	}
	y := 1/(loadOhm(x.Jig, rec.Load, f)+s.short) + s.open
	r = p.q / p.p / y
	series, parallel := math.Hypot(x.Jig.ContactOhm, s.shortU), s.openU
	if !s.hasShort {
		series = math.Hypot(series, assumedLeadOhm)
	}
	if !s.hasOpen {
		parallel = x.assumedOpen(f)
	}
	rel := 0.0
	for _, one := range []float64{p.uP / cmplx.Abs(p.p), p.uQ / cmplx.Abs(p.q), p.sharedP / cmplx.Abs(p.p), p.sharedQ / cmplx.Abs(p.q),
		rec.Load.Tolerance / math.Sqrt(3), series / rec.Load.Ohm, parallel * rec.Load.Ohm} {
		rel = math.Hypot(rel, one)
	}
	return r, rel * cmplx.Abs(r), true
}

// What readings assume of leads, fixture and inputs that nobody measured (fixture.Priors).
const (
	assumedLeadOhm      = 0.2
	assumedFarad        = 20e-12
	assumedInputFarad   = 200e-12
	assumedInputSiemens = 25e-6
)

// assumedOpen is how uncertain the admittance across the part is without an open.
func (x *exam) assumedOpen(f float64) float64 {
	w := 2 * math.Pi * f
	if partLoadedBy(x.Jig.Channels) >= 0 {
		return math.Hypot(assumedInputSiemens, w*assumedInputFarad)
	}
	return w * assumedFarad
}

// loadOhm is a load with its residuals as the jig file has them.
func loadOhm(j *fixture.Jig, l *fixture.Load, f float64) complex128 {
	w := 2 * math.Pi * f
	return 1/complex(1/l.Ohm, w*j.Standards.LoadFarad.Value) + complex(0, w*j.Standards.LoadHenry.Value)
}

// reportResiduals tells what open and short leave.
func (x *exam) reportResiduals(all []residuals) {
	for _, s := range all {
		w := 2 * math.Pi * s.freqHz
		if s.hasShort {
			x.figure("short", "resistance left", 0, s.freqHz, normal(real(s.short), s.shortU), "Ω")
			x.figure("short", "inductance left", 0, s.freqHz, normal(imag(s.short)/w, s.shortU/w), "H")
		}
		if s.hasOpen {
			x.figure("open", "conductance left", 0, s.freqHz, normal(real(s.open), s.openU), "S")
			x.figure("open", "capacitance left", 0, s.freqHz, normal(imag(s.open)/w, s.openU/w), "F")
		}
	}
	x.judgeResiduals(all)
}

func (x *exam) judgeResiduals(all []residuals) {
	low, high := all[0], all[len(all)-1]
	w := 2 * math.Pi * high.freqHz
	for _, c := range []struct {
		has         bool
		what        string
		q           quantity
		limit       float64
		unit, advis string
	}{
		{low.hasShort, "the short leaves a resistance of", normal(real(low.short), low.shortU), ordinaryLeadOhm, "Ω",
			"shorter or thicker leads, clean clips; each insertion carries a share of it"},
		{high.hasShort, "the short leaves an inductance of", normal(imag(high.short)/w, high.shortU/w), ordinaryLeadHenry, "H",
			"shorter leads, and the two of each pair twisted"},
		{high.hasOpen, "the open leaves a capacitance of", normal(imag(high.open)/w, high.openU/w), ordinaryFarad, "F",
			"shorter screened leads, or a buffer at the terminals"},
	} {
		if c.has && !x.crossSpoils() && beyond(c.q, c.limit) {
			x.fault(Fault{Code: Residual, Value: c.q, Unit: c.unit, Limit: c.limit,
				Detail: fmt.Sprintf("%s %s (95 %%: %s to %s)", c.what, si(c.q.Value, c.unit), si(c.q.Low, c.unit), si(c.q.High, c.unit)), Advice: c.advis})
		}
	}
}

// crossSpoils reports whether crosstalk that nobody measured may stand behind what an
// open or a short leaves.
func (x *exam) crossSpoils() bool {
	return len(x.of(Terminated1)) == 0 || len(x.of(Terminated2)) == 0
}
