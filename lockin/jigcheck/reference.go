package jigcheck

import (
	"fmt"
	"math"
	"math/cmplx"

	"example.org/wheatear/lockin/fixture"
)

// loadedBy lists the inputs that take current beside the reference: that across the
// reference, and where both inputs are differential that across the part, whose lower
// end is the same node.
func loadedBy(p fixture.Pair) []int {
	ref, part := p.Index(fixture.Reference), p.Index(fixture.Part)
	switch {
	case p.Virtual() || ref < 0:
		return nil
	case part < 0:
		return []int{ref}
	}
	return []int{ref, part}
}

// partLoadedBy is the input that lies across the part and one end of which is ground;
// -1 for none.
func partLoadedBy(p fixture.Pair) int {
	if p.Index(fixture.Reference) >= 0 {
		return -1
	}
	return p.Index(fixture.Part)
}

// reportReference tells what the reference is, and what the inputs take.
func (x *exam) reportReference(all []residuals) {
	x.onSource()
	if i := partLoadedBy(x.Jig.Channels); i >= 0 {
		x.partInput(i, all)
	}
	if x.Jig.Channels.Virtual() {
		x.note("In this wiring the inputs load nothing but the source and the amplifier, so what they take does not matter.")
	}
	s, ok := lowest(all)
	if !ok {
		x.note("Whether the reference is what the jig file says was not measured: the step load would tell, with a resistor of known value.")
		return
	}
	q := 1 / s.r
	g, u := real(q), s.rU
	if c := imag(q) / (2 * math.Pi * s.freqHz); len(x.of(Joined)) > 0 {
		x.figure("reference", "capacitance across it", 0, s.freqHz, normal(c, u*g/(2*math.Pi*s.freqHz)), "F")
	}
	if len(loadedBy(x.Jig.Channels)) == 0 {
		x.plainReference(1/g, u, all)
		return
	}
	x.loadedReference(g, u, all)
}

// lowest is the residuals at the lowest tone at which a load told the reference.
func lowest(all []residuals) (residuals, bool) {
	for _, s := range all {
		if s.rU > 0 {
			return s, true
		}
	}
	return residuals{}, false
}

// plainReference judges a reference that no input loads.
func (x *exam) plainReference(ohm, u float64, all []residuals) {
	nominal := x.Jig.ReferenceOhm
	dev := normal(ohm/nominal-1, u)
	x.figure("reference", "resistance", 0, 0, normal(ohm, u*ohm), "Ω")
	second, secondU, ok := x.second(all)
	if ok {
		x.figure("reference", "other reference against its value, less 1", 0, 0, normal(second, secondU), "")
	}
	if !beyond(dev, x.Jig.ReferenceTolerance) {
		return
	}
	if ok && math.Abs(second-dev.Value) < widths*math.Hypot(secondU, u) {
		x.loadOrGain(dev)
		return
	}
	x.wrongReference(ohm, dev, x.withoutJoined())
}

// withoutJoined says what a wrong reference may be instead while nobody has put both
// inputs on one node.
func (x *exam) withoutJoined() string {
	if len(x.of(Joined)) > 0 {
		return ""
	}
	return "; or one input hears that much more than the other: the step joined would tell"
}

func (x *exam) wrongReference(ohm float64, dev quantity, doubt string) {
	percent := quantity{Value: 100 * dev.Value, U: 100 * dev.U, Low: 100 * dev.Low, High: 100 * dev.High}
	x.fault(Fault{Code: WrongRef, Value: percent, Unit: "%", Limit: 100 * x.Jig.ReferenceTolerance,
		Detail: fmt.Sprintf("the reference is %s, %+.2f %% from the %s of the jig file (95 %%: %s)", si(ohm, "Ω"),
			percent.Value, si(x.Jig.ReferenceOhm, "Ω"), interval(percent, 1, "%")) + doubt,
		Advice: fmt.Sprintf("measure it, or write reference = %q into the jig file; a calibration with a known load makes up for it", fmt.Sprintf("%.6g", ohm))})
}

// loadOrGain is what makes two references wrong alike.
func (x *exam) loadOrGain(dev quantity) {
	percent := quantity{Value: 100 * dev.Value, U: 100 * dev.U, Low: 100 * dev.Low, High: 100 * dev.High}
	what := "the load is not what it claims, or one input hears that much more than the other: the step joined would tell"
	if len(x.of(Joined)) > 0 {
		what = "the load is not what it claims, as the inputs hear alike"
	}
	x.fault(Fault{Code: Ambiguous, Value: percent, Unit: "%", Limit: 100 * x.Jig.ReferenceTolerance,
		Detail: fmt.Sprintf("two references are off alike, by %+.2f %%, so it is neither of them: %s", percent.Value, what),
		Advice: "take another known resistor as the load"})
}

// second is how far the other reference reads from its value, relative.
func (x *exam) second(all []residuals) (dev, u float64, ok bool) {
	r, rU, other, ok := x.otherReference(all)
	if !ok {
		return 0, 0, false
	}
	return real(r)/other.Ohm - 1, math.Hypot(rU, other.Tolerance/math.Sqrt(3)), true
}

// otherReference is r with the other reference in place, at the lowest tone that tells.
func (x *exam) otherReference(all []residuals) (r complex128, u float64, other *fixture.Load, ok bool) {
	for _, s := range all {
		if r, u, ok := x.referenceFrom(Reference, s.freqHz, s); ok {
			return r, u, x.of(Reference)[0].Other, true
		}
	}
	return 0, 0, nil, false
}

// expectedSiemens is what inputs take by the jig file; stated is false where it does
// not say.
func (x *exam) expectedSiemens(inputs []int) (g float64, stated bool) {
	for _, i := range inputs {
		if len(x.Jig.InputOhm) == 2 {
			g += 1 / x.Jig.InputOhm[i]
		}
	}
	return g, g > 0
}

// statedInput is how far an input may be from what the jig file states: three of the
// 5 % that readings allow for.
const statedInput = 0.15

// mostSiemens is what inputs may take together.
func (x *exam) mostSiemens(inputs []int) float64 {
	if g, stated := x.expectedSiemens(inputs); stated {
		return g * (1 + statedInput)
	}
	return float64(len(inputs)) / ordinaryInputOhm
}

// loadedReference tells a reference from what loads it, where another reference was
// tried, and else says that it cannot.
func (x *exam) loadedReference(g, u float64, all []residuals) {
	inputs := loadedBy(x.Jig.Channels)
	r2, u2, other, ok := x.otherReference(all)
	if !ok {
		x.referenceOrLoading(1/g, u, inputs)
		return
	}
	g2 := real(1 / r2)
	taken := normal(g2-1/other.Ohm, math.Hypot(u2*g2, other.Tolerance/math.Sqrt(3)/other.Ohm))
	x.input(inputs, taken)
	ohm := 1 / (g - taken.Value)
	dev := normal(ohm/x.Jig.ReferenceOhm-1, math.Hypot(u, taken.U*ohm))
	x.figure("reference", "resistance", 0, 0, normal(ohm, dev.U*ohm), "Ω")
	if beyond(dev, x.Jig.ReferenceTolerance) {
		x.wrongReference(ohm, dev, x.withoutJoined())
	}
}

// referenceOrLoading judges both together.
func (x *exam) referenceOrLoading(ohm, u float64, inputs []int) {
	nominal := x.Jig.ReferenceOhm
	x.figure("reference", "resistance with the input across it", 0, 0, normal(ohm, u*ohm), "Ω")
	x.note("In this wiring the input across the reference makes it read low, which a wrong reference does, too: the step reference tells them apart.")
	tolerance := x.Jig.ReferenceTolerance
	least := 1/(1+nominal*x.mostSiemens(inputs)) - 1 - tolerance
	dev := normal(ohm/nominal-1, u)
	switch {
	case dev.Value-widths*u > tolerance:
		x.wrongReference(ohm, dev, x.withoutJoined())
	case dev.Value+widths*u < least:
		percent := quantity{Value: 100 * dev.Value, U: 100 * dev.U, Low: 100 * dev.Low, High: 100 * dev.High}
		x.fault(Fault{Code: Ambiguous, Value: percent, Unit: "%", Limit: 100 * least,
			Detail: fmt.Sprintf("with its input the reference is %s, %+.2f %% from the %s of the jig file: either it is that much too low, or the input takes as much as %s: the step reference would tell",
				si(ohm, "Ω"), percent.Value, si(nominal, "Ω"), si(1/(1/ohm-1/nominal), "Ω")) + x.withoutJoined(),
			Advice: "put another known resistor in the place of the reference and verify again"})
	}
}

// partInput tells what the input across the part takes.
func (x *exam) partInput(i int, all []residuals) {
	for _, s := range all {
		if s.hasOpen {
			x.input([]int{i}, normal(real(s.open), s.openU))
			return
		}
	}
	x.note("What the input across the part takes was not measured: the step open would tell, or two loads of known value.")
}

// input judges the conductance of inputs that lie side by side, or of each where it is
// known how it is shared.
func (x *exam) input(inputs []int, g quantity) {
	if each, ok := x.shared(inputs, g); ok {
		for i, one := range each {
			x.input(inputs[i:i+1], one)
		}
		return
	}
	q := quantity{Value: 1 / g.Value, U: g.U / sq(g.Value), Low: 1 / g.High, High: 1 / g.Low}
	if g.Low <= 0 {
		q.High = math.Inf(1)
	}
	if g.Value <= 0 {
		q = quantity{Value: math.NaN(), U: math.NaN(), Low: 1 / math.Max(g.High, 1e-15), High: math.Inf(1)}
	}
	name, ch := fmt.Sprintf("resistance of input %d", inputs[0]+1), inputs[0]+1
	if len(inputs) > 1 {
		name, ch = "resistance of both inputs side by side", 0
	}
	x.figure("inputs", name, ch, 0, q, "Ω")
	if most := x.mostSiemens(inputs); beyond(g, most) && g.Value > 0 {
		who := fmt.Sprintf("input %d is a load of", ch)
		if ch == 0 {
			who = "the two inputs side by side, which nothing here tells apart, are a load of"
		}
		x.fault(Fault{Code: Loading, Channel: ch, Value: q, Unit: "Ω", Limit: 1 / most,
			Detail: fmt.Sprintf("%s %s (95 %%: %s to %s)", who, si(q.Value, "Ω"), si(q.Low, "Ω"), si(q.High, "Ω")),
			Advice: fmt.Sprintf("a buffer in front of the input, or write input_resistance = %q into the jig file and calibrate with an open", fmt.Sprintf("%.3gk", q.Value/1e3))})
	}
}

// source fits the resistance of the source to the levels over several loads:
// 1/|V| = (1 + Rs/|Zt|)/E, with Zt all that the source drives.
func (x *exam) source(all []residuals) {
	s := all[0]
	for _, t := range all {
		if math.Abs(math.Log(t.freqHz/1000)) < math.Abs(math.Log(s.freqHz/1000)) {
			s = t
		}
	}
	var at, inverse []float64
	for _, step := range []Step{Load, Short, Open} {
		for _, r := range x.of(step) {
			p, ok := x.pair(r, s.freqHz)
			played := playedAt(r.Played, s.freqHz)
			if !ok || played == 0 {
				continue
			}
			total, z := x.driven(step, r, s, p)
			if a := cmplx.Abs(total); a > 0 && z != 0 {
				at, inverse = append(at, real(1/z)), append(inverse, played/a)
			}
		}
	}
	if ohm, u, ok := line(at, inverse); ok {
		x.sourceOhm = ohm
		x.figure("source", "resistance", 0, s.freqHz, normal(ohm, math.Hypot(u, s.rU*ohm)), "Ω")
	}
}

// driven is the voltage at the source and the impedance there.
func (x *exam) driven(step Step, r *Recording, s residuals, p ratio) (total, z complex128) {
	part := 1 / s.open
	switch step {
	case Load:
		part = 1 / (1/(loadOhm(x.Jig, r.Load, s.freqHz)+s.short) + s.open)
	case Short:
		part = s.short
	}
	if x.Jig.Channels.Virtual() {
		if step != Load {
			return 0, 0
		}
		return p.p, part
	}
	if cmplx.IsInf(part) || cmplx.IsNaN(part) {
		return p.p + p.q, complex(1e15, 0)
	}
	return p.p + p.q, part + s.r
}

func playedAt(list []fixture.Played, freqHz float64) float64 {
	for _, p := range list {
		if math.Abs(p.FreqHz-freqHz) <= sameHz*freqHz {
			return p.Amplitude
		}
	}
	return 0
}

// line fits y = a(1 + b·x) and returns b with its uncertainty by the scatter.
func line(x, y []float64) (b, u float64, ok bool) {
	if len(x) < 3 {
		return 0, 0, false
	}
	mx, _ := spread(x)
	my, _ := spread(y)
	var xx, xy float64
	for i := range x {
		xx, xy = xx+sq(x[i]-mx), xy+(x[i]-mx)*(y[i]-my)
	}
	if xx == 0 {
		return 0, 0, false
	}
	slope := xy / xx
	a := my - slope*mx
	rest := 0.0
	for i := range x {
		rest += sq(y[i] - a - slope*x[i])
	}
	return slope / a, math.Sqrt(rest/float64(len(x)-2)/xx) / math.Abs(a), true
}
