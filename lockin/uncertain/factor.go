package uncertain

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// ErrCovariance is wrapped where a matrix cannot be a covariance.
var ErrCovariance = errors.New("not a covariance matrix")

// semidefiniteTol is how far, relative to the variances, a covariance matrix may
// be from semidefinite: far above rounding in a product of matrices or in 12
// printed digits, far below any correlation that matters.
const semidefiniteTol = 1e-9

// semidefiniteFactor returns L, n × rank by rows, with L·Lᵀ = cov, by Cholesky
// factoring with pivoting of the correlation matrix. Singular matrices are fine.
// Reference: N. J. Higham, Accuracy and Stability of Numerical Algorithms,
// 2nd ed. (2002), 10.3 (from memory).
func semidefiniteFactor(cov mat.Symmetric) (factor []float64, rank int, err error) {
	n := cov.SymmetricDim()
	scale, rest, err := correlations(cov)
	if err != nil {
		return nil, 0, err
	}
	columns := make([]float64, 0, n*n) // n entries per column of L
	for rank < n {
		p := largestPivot(rest, n)
		if rest[p*n+p] <= semidefiniteTol {
			break
		}
		columns = append(columns, eliminate(rest, n, p)...)
		rank++
	}
	for _, v := range rest {
		if math.Abs(v) > 4*semidefiniteTol {
			return nil, 0, fmt.Errorf("%w: it has a negative eigenvalue", ErrCovariance)
		}
	}
	factor = make([]float64, n*rank)
	for i := range n {
		for k := range rank {
			factor[i*rank+k] = scale[i] * columns[k*n+i]
		}
	}
	return factor, rank, nil
}

// correlations splits cov into standard uncertainties and the correlation
// matrix (rows of zeros where u = 0).
func correlations(cov mat.Symmetric) (u, r []float64, err error) {
	n := cov.SymmetricDim()
	u, r = make([]float64, n), make([]float64, n*n)
	for i := range n {
		v := cov.At(i, i)
		if !finite(v) || v < 0 {
			return nil, nil, fmt.Errorf("%w: the variance of number %d is %g", ErrCovariance, i, v)
		}
		u[i] = math.Sqrt(v)
	}
	for i := range n {
		for j := range n {
			c := cov.At(i, j)
			if u[i] > 0 && u[j] > 0 {
				r[i*n+j] = c / u[i] / u[j]
			}
			if !finite(r[i*n+j]) || (c != 0 && (u[i] == 0 || u[j] == 0)) {
				return nil, nil, fmt.Errorf("%w: the covariance of numbers %d and %d is %g", ErrCovariance, i, j, c)
			}
		}
	}
	return u, r, nil
}

func largestPivot(a []float64, n int) int {
	p := 0
	for i := 1; i < n; i++ {
		if a[i*n+i] > a[p*n+p] {
			p = i
		}
	}
	return p
}

// eliminate takes the pivot p out of a and returns the column of the factor.
func eliminate(a []float64, n, p int) []float64 {
	root := math.Sqrt(a[p*n+p])
	column := make([]float64, n)
	for i := range n {
		column[i] = a[i*n+p] / root
	}
	for i := range n {
		for j := range n {
			a[i*n+j] -= column[i] * column[j]
		}
	}
	for i := range n { // exactly zero, not merely to rounding
		a[i*n+p], a[p*n+i] = 0, 0
	}
	return column
}
