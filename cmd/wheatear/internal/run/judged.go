package run

import (
	"math"
	"time"

	"example.org/wheatear/lockin/batch"
	"example.org/wheatear/lockin/fixture"
)

// Judged is a part as a run keeps it, from its reading and what that was judged to be.
// Bins may be nil. A part that has no such value, such as an open one, has none here.
func Judged(name string, at time.Time, c *fixture.Corrected, j *fixture.Judgement, bins *batch.Bins) Part {
	p := Part{Name: name, At: at, FreqHz: c.NominalHz, Value: j.Value, U: j.U, OwnU: j.OwnU(c), Low: j.Low, High: j.High,
		Verdict: string(j.Outcome), Risk: j.Risk, EnoughU: j.EnoughU, Chance: math.NaN()}
	if math.IsInf(p.Value, 0) {
		p.Value, p.U, p.OwnU = math.NaN(), math.NaN(), math.NaN()
	}
	if bins != nil && !math.IsNaN(p.Value) {
		p.Bin, p.Chance = bins.Of(p.Value, p.U)
	}
	return p
}
