package circuit

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// mended is a sweep with a change taken out.
type mended struct {
	sum          float64
	coefficients []complex128 // of the shapes; each real
	u            float64      // of the first
	change       complex128   // all of it, where shapes are 1
}

// mend finds how much of each shape, as a relative change of Z, makes the sweep
// consistent. Nil where it does not.
func (c *Consistency) mend(f *fitter, shapes [][]complex128) *mended {
	m := &mended{coefficients: make([]complex128, len(shapes))}
	g := *f
	var after *Consistency
	for range 5 {
		g.z = taken(f.z, shapes, m.coefficients)
		after = g.compare()
		step, u, ok := g.amounts(after.poles, shapes)
		if !ok {
			return nil
		}
		for i, s := range step {
			m.coefficients[i] += complex(s, 0)
		}
		m.u = u
	}
	m.sum = after.ChiSquare
	scale := 1.0
	if !f.white.known {
		scale = math.Sqrt(after.ChiSquare / float64(max(after.Dof, 1)))
		m.sum /= scale * scale
	}
	m.u *= scale
	for i := range shapes {
		if i%2 == 0 {
			m.change += m.coefficients[i]
		} else {
			m.change += 1i * m.coefficients[i]
		}
	}
	excess := c.ChiSquare/(scale*scale) - float64(c.Dof)
	if excess-(m.sum-float64(after.Dof)) < explained*excess {
		return nil
	}
	if len(shapes) == 1 && math.Abs(real(m.coefficients[0])) < significant*m.u {
		return nil
	}
	return m
}

// taken divides the change out of a sweep.
func taken(z []complex128, shapes [][]complex128, coefficients []complex128) []complex128 {
	out := make([]complex128, len(z))
	for i, v := range z {
		factor := complex(1, 0)
		for j, s := range shapes {
			factor += coefficients[j] * s[i]
		}
		out[i] = v / factor
	}
	return out
}

// amounts fits the shapes beside the poles, and gives the uncertainty of the first.
func (f *fitter) amounts(r rational, shapes [][]complex128) (step []float64, u float64, ok bool) {
	var added [][]complex128
	for _, s := range shapes {
		column := make([]complex128, len(s))
		for i, v := range s {
			column[i] = v * f.z[i]
		}
		added = append(added, column)
	}
	a := f.columns(r, added...)
	x, ok := solveLinear(a, f.right())
	if !ok {
		return nil, 0, false
	}
	rows, cols := a.Dims()
	if rows <= cols {
		return nil, 0, false
	}
	first := cols - len(shapes)
	cov := inverseGram(mat.DenseCopyOf(a).RawMatrix().Data, cols)
	return x[first:], math.Sqrt(cov.At(first, first)), true
}
