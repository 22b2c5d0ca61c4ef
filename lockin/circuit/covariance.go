package circuit

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// inverseGram returns (JᵀJ)⁻¹ of a Jacobian of n columns, row by row, from its
// singular values, with the columns brought to one length first: units and sizes of
// the unknowns then play no part. A direction that the residuals do not feel at all
// gets an infinite variance, as far as a float goes.
func inverseGram(jacobian []float64, n int) *mat.SymDense {
	rows := len(jacobian) / n
	scaled := mat.NewDense(rows, n, append([]float64(nil), jacobian...))
	lengths := make([]float64, n)
	for k := range n {
		lengths[k] = mat.Norm(scaled.ColView(k), 2)
		if lengths[k] == 0 {
			lengths[k] = math.SmallestNonzeroFloat64
			continue
		}
		for i := range rows {
			scaled.Set(i, k, scaled.At(i, k)/lengths[k])
		}
	}
	out := mat.NewSymDense(n, nil)
	var svd mat.SVD
	if !svd.Factorize(scaled, mat.SVDThin) {
		return undetermined(out)
	}
	var v mat.Dense
	svd.VTo(&v)
	for d, s := range svd.Values(nil) {
		weight := 1 / max(s*s, 1e-200)
		for i := range n {
			for j := i; j < n; j++ {
				out.SetSym(i, j, out.At(i, j)+weight*v.At(i, d)*v.At(j, d))
			}
		}
	}
	for i := range n {
		for j := i; j < n; j++ {
			out.SetSym(i, j, clamp(out.At(i, j)/lengths[i]/lengths[j]))
		}
	}
	return out
}

// clamp keeps a number finite.
func clamp(x float64) float64 { return max(-1e300, min(1e300, x)) }

func undetermined(c *mat.SymDense) *mat.SymDense {
	for i := range c.SymmetricDim() {
		c.SetSym(i, i, 1e300)
	}
	return c
}
