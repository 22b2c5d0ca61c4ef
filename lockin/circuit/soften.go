package circuit

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// Softened returns the sweep with rel·|Z| more of standard uncertainty in both parts of
// each point, independent of the others: what a circuit cannot describe of a part. It
// lets a circuit that is near but not exact be fitted for what it is. Without it, errors
// that all points share are stretched beyond reason to take up what the circuit lacks,
// and the values go astray (Peelle's puzzle). A sweep of unknown uncertainty stays as
// it is.
func (d *Data) Softened(rel float64) *Data {
	if d.check() != nil {
		return d // for the fit to refuse
	}
	soft := *d
	more := Relative(d.Z, rel)
	switch {
	case d.Full != nil:
		full := mat.NewSymDense(2*len(d.Z), nil)
		full.CopySym(d.Full)
		for i, c := range more {
			full.SetSym(2*i, 2*i, full.At(2*i, 2*i)+c.ReRe)
			full.SetSym(2*i+1, 2*i+1, full.At(2*i+1, 2*i+1)+c.ImIm)
		}
		soft.Full = full
	case d.Cov != nil:
		for i, c := range d.Cov {
			more[i] = Cov{c.ReRe + more[i].ReRe, c.ReIm, c.ImIm + more[i].ImIm}
		}
		soft.Cov = more
	}
	return &soft
}

// allowances are what ChooseNear tries, one after the other.
var allowances = [...]float64{0, 0.005, 0.05, 0.3}

// Near reports whether a circuit agrees with a sweep, or, where rel of |Z| was allowed
// for what it cannot describe, whether what is left is no more than that: what it lacks
// has a trend, unlike noise. Nothing was allowed, and less than half of chi-square is
// there: the readings share errors that their covariance does not hold, and a trend
// tells nothing of the circuit.
func (r *Result) Near(rel float64) bool {
	most := float64(r.Dof)
	if rel == 0 {
		most /= 2
	}
	return r.Agreement != Disagrees || !math.IsNaN(r.Probability) && r.ChiSquare <= most
}

// ChooseNear chooses between circuits like Choose. Where none of them agrees with the
// sweep within its uncertainty, it allows more and more of |Z| at each point for what
// circuits cannot describe, until one is near. rel is that allowance, 0 where none was
// needed; intervals hold it.
func ChooseNear(candidates []Candidate, d *Data) (c *Choice, rel float64, err error) {
	if err := d.check(); err != nil {
		return nil, 0, err
	}
	for _, rel = range allowances {
		c, err = Choose(candidates, d.Softened(rel))
		if err != nil || c.Fits[0].Near(rel) || d.Full == nil && d.Cov == nil {
			return c, rel, err
		}
	}
	return c, rel, nil
}
