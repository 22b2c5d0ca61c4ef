package filter

import "example.org/wheatear/lockin/internal/phase"

// clock gives 2·exp(−jφ) at the last frame before each multiple of an interval, from
// an exact phase once for every entry of a table: a sine for each would cost more
// than the sums it turns.
type clock struct {
	step  phase.Turns // of a frame
	every int64
	table [64]complex128 // 2·exp(−j·i·every·step)
	row   int64          // what base is for
	base  complex128
}

func newClock(step phase.Turns, every int) clock {
	c := clock{step: step, every: int64(every), row: -1}
	phase.FillPhasors(c.table[:], phase.Turns{}, step.Times(uint64(every)).Neg())
	for i := range c.table {
		c.table[i] *= 2
	}
	return c
}

// before returns it for the frame before end, a positive multiple of the interval.
func (c *clock) before(end int64) complex128 {
	i := end / c.every
	row := i / int64(len(c.table))
	if row != c.row {
		at := uint64(row) * uint64(len(c.table)) * uint64(c.every)
		c.row, c.base = row, c.step.Times(at).Add(c.step.Neg()).Neg().Phasor()
	}
	return c.base * c.table[i%int64(len(c.table))]
}
