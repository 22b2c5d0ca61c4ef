package run

import (
	"math"
	"time"

	"example.org/wheatear/lockin/batch"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/uncertain"
)

// Judged is a part as a run keeps it, from its reading and what that was judged to be.
// Bins may be nil. A part that has no such value, an open one or one of another kind, has
// none here, and its main figure says what it is.
func Judged(name string, at time.Time, c *fixture.Corrected, j *fixture.Judgement, bins *batch.Bins) Part {
	p := Part{Name: name, At: at, FreqHz: c.NominalHz, Value: j.Value, U: j.U, OwnU: j.OwnU(c), Low: j.Low, High: j.High,
		Verdict: string(j.Outcome), Risk: j.Risk, EnoughU: j.EnoughU, Chance: math.NaN()}
	if !math.IsNaN(p.Value) {
		p.As, p.Main = j.Element, j.Element.In(c.Reading)
		if q := p.Main; math.IsNaN(q.Value) {
			p.Main = uncertain.Quantity{Value: j.Value, U: j.U, Low: j.Low, High: j.High}
		} else {
			p.Value, p.U, p.Low, p.High = q.Value, q.U, q.Low, q.High // as every other output has it
		}
	}
	e, main := c.Reading.Main()
	bound := j.Outcome == parts.Fail && math.IsNaN(main.Value)
	if bound || math.IsInf(p.Value, 0) || j.OfAnotherKind(c) {
		p.Value, p.U, p.OwnU, p.Low, p.High = math.NaN(), math.NaN(), math.NaN(), math.NaN(), math.NaN()
		p.As, p.Main = e, main
	}
	if bins != nil && !math.IsNaN(p.Value) {
		p.Bin, p.Chance = bins.Of(p.Value, p.U)
	}
	return p
}

// OfAnotherKind reports whether a part has none of the value that the run is of, and is
// something else.
func (p *Part) OfAnotherKind() bool {
	return math.IsNaN(p.Value) && p.Verdict == string(parts.Fail) && p.As.Kind != impedance.Undecided && p.As.Kind != impedance.ModulusZ
}
