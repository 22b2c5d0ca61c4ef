package circuit

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// nonNegative solves min |A·x - b| with every x at or above zero.
//
// Source: Lawson and Hanson, Solving Least Squares Problems, 1974, chapter 23,
// algorithm NNLS.
func nonNegative(a *mat.Dense, b []float64) []float64 {
	rows, n := a.Dims()
	x, free := make([]float64, n), make([]bool, n)
	rest := append([]float64(nil), b...)
	for range 3 * n {
		j := steepest(a, rest, free)
		if j < 0 {
			break
		}
		free[j] = true
		for {
			z, ok := freeSolution(a, b, free)
			if !ok {
				free[j] = false
				return x
			}
			step, stop := feasible(x, z, free)
			for k := range x {
				x[k] += step * (z[k] - x[k])
			}
			if stop < 0 {
				break
			}
			x[stop], free[stop] = 0, false
		}
		for i := range rows {
			rest[i] = b[i] - dotRow(a, i, x)
		}
	}
	return x
}

func dotRow(a *mat.Dense, i int, x []float64) float64 {
	sum := 0.0
	for k, v := range x {
		if v != 0 {
			sum += a.At(i, k) * v
		}
	}
	return sum
}

// steepest is the column that is held at zero and would lower the rest most; -1
// where none would.
func steepest(a *mat.Dense, rest []float64, free []bool) int {
	rows, n := a.Dims()
	best, most := -1, 1e-12
	for j := range n {
		if free[j] {
			continue
		}
		sum, size := 0.0, 0.0
		for i := range rows {
			sum += a.At(i, j) * rest[i]
			size += a.At(i, j) * a.At(i, j)
		}
		if w := sum / math.Sqrt(size); w > most {
			best, most = j, w
		}
	}
	return best
}

// freeSolution is plain least squares in the free columns, zero elsewhere.
func freeSolution(a *mat.Dense, b []float64, free []bool) (z []float64, ok bool) {
	rows, n := a.Dims()
	var columns []int
	for j, f := range free {
		if f {
			columns = append(columns, j)
		}
	}
	sub := mat.NewDense(rows, len(columns), nil)
	for k, j := range columns {
		for i := range rows {
			sub.Set(i, k, a.At(i, j))
		}
	}
	var qr mat.QR
	qr.Factorize(sub)
	var y mat.VecDense
	if err := qr.SolveVecTo(&y, false, mat.NewVecDense(rows, append([]float64(nil), b...))); err != nil {
		if _, condition := err.(mat.Condition); !condition {
			return nil, false
		}
	}
	z = make([]float64, n)
	for k, j := range columns {
		z[j] = y.AtVec(k)
	}
	return z, true
}

// feasible is how far one may go from x to z before a free value falls to zero, and
// which one; -1 where none does.
func feasible(x, z []float64, free []bool) (step float64, stop int) {
	step, stop = 1, -1
	for k, f := range free {
		if f && z[k] <= 0 {
			if s := x[k] / (x[k] - z[k]); stop < 0 || s < step {
				step, stop = s, k
			}
		}
	}
	return step, stop
}
