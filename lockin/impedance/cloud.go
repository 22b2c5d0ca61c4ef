package impedance

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"example.org/wheatear/lockin/internal/order"
	"example.org/wheatear/lockin/uncertain"
)

// established is the part of a sample that must lie on one side of zero for the
// sign to be taken as known: the end of the symmetric 95 % interval.
const established = 0.975

// farOff is the part of a sample beyond which zero plays no part any more: three
// standard uncertainties of a normal one.
const farOff = 0.999

// cloud is the sample of all outputs with the first-order result beside it.
type cloud struct {
	y       []float64 // the outputs at the estimates
	u       []float64 // their standard uncertainties
	cov     mat.Symmetric
	columns [][]float64 // [output][trial], finite trials only
	n       int         // trials
	scratch []float64
}

func newCloud(result *uncertain.Result, sample *uncertain.Sample) *cloud {
	c := &cloud{y: result.Y, cov: result.Cov, u: make([]float64, outputs), columns: make([][]float64, outputs)}
	for i := range c.columns {
		c.u[i], c.columns[i] = result.U(i), sample.Column(i)
	}
	c.n = sample.Trials()
	if kept := c.finiteTrials(); len(kept) < c.n {
		c.keep(kept)
	}
	c.scratch = make([]float64, c.n)
	return c
}

// finiteTrials returns the trials in which the model gave an impedance at a
// frequency. Division by a draw of exactly nothing spoils single ones.
func (c *cloud) finiteTrials() []int {
	kept := make([]int, 0, c.n)
	for t := range c.n {
		if finite(c.columns[outRe][t]) && finite(c.columns[outIm][t]) && c.columns[outHz][t] > 0 {
			kept = append(kept, t)
		}
	}
	return kept
}

func (c *cloud) keep(trials []int) {
	for i, column := range c.columns {
		c.columns[i] = make([]float64, len(trials))
		for k, t := range trials {
			c.columns[i][k] = column[t]
		}
	}
	c.n = len(trials)
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// sign returns +1 or −1 where the sample establishes the sign of an output, and
// 0 where it does not.
func (c *cloud) sign(output int) int { return c.signAt(output, established) }

// signAt is sign with more than the given part of the sample on one side.
func (c *cloud) signAt(output int, part float64) int {
	positive, negative := 0, 0
	for _, v := range c.columns[output] {
		switch {
		case v > 0:
			positive++
		case v < 0:
			negative++
		}
	}
	most := part * float64(c.n)
	switch {
	case float64(positive) > most:
		return 1
	case float64(negative) > most:
		return -1
	}
	return 0
}

// quantity returns an output with the symmetric interval of the sample.
// Reference: JCGM 101:2008, 7.7.2.
func (c *cloud) quantity(output int) uncertain.Quantity {
	low, high := c.interval(output)
	return uncertain.Quantity{Value: c.y[output], U: c.u[output], Low: low, High: high}
}

// interval returns [y_(r), y_(r+q)], q = 0.95 M, r = (M−q)/2.
func (c *cloud) interval(output int) (low, high float64) {
	copy(c.scratch, c.columns[output])
	q := int(0.95*float64(c.n) + 0.5)
	r := max((c.n-q)/2, 1)
	low = order.Kth(c.scratch, r-1)
	return low, order.Kth(c.scratch[r-1:], q)
}

// upper returns the bound that 95 % of the sample stay below, of those trials in
// which the output is not negative. It is NaN where hardly any is: the rest of
// the sample then says that the output is negative, and nothing about this.
func (c *cloud) upper(output int) float64 {
	kept := c.scratch[:0]
	for _, v := range c.columns[output] {
		if v >= 0 {
			kept = append(kept, v)
		}
	}
	if float64(len(kept)) < nonPassiveLevel*float64(c.n) || len(kept) == 0 {
		return math.NaN()
	}
	return order.Kth(kept, int(math.Ceil(0.95*float64(len(kept))))-1)
}

// median returns the middle of a column.
func (c *cloud) median(column []float64) float64 {
	copy(c.scratch, column)
	return order.Kth(c.scratch, c.n/2)
}
