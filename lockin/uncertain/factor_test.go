package uncertain

import (
	"errors"
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// TestSemidefiniteFactor: L·Lᵀ gives the matrix back and the rank is right, for
// variances that differ by 24 decades as ohm² and farad² do.
func TestSemidefiniteFactor(t *testing.T) {
	for _, c := range []struct {
		name string
		n    int
		cov  []float64
		rank int
	}{
		{"one", 1, []float64{4}, 1},
		{"zero", 2, []float64{0, 0, 0, 0}, 0},
		{"exact member", 3, []float64{4, 0, 1, 0, 0, 0, 1, 0, 9}, 2},
		{"fully correlated", 2, []float64{1, 2, 2, 4}, 1},
		{"fully opposed", 2, []float64{1, -2, -2, 4}, 1},
		{"sum of two", 3, []float64{4, 2, 6, 2, 9, 11, 6, 11, 17}, 2},
		{"full, unlike units", 3, []float64{1e6, 300, 1e-10, 300, 1, 2e-13, 1e-10, 2e-13, 1e-24}, 3},
	} {
		t.Run(c.name, func(t *testing.T) {
			cov := mat.NewSymDense(c.n, c.cov)
			factor, rank, err := semidefiniteFactor(cov)
			if err != nil {
				t.Fatal(err)
			}
			if rank != c.rank {
				t.Errorf("rank %d, want %d", rank, c.rank)
			}
			for i := range c.n {
				for j := range c.n {
					got := dot(factor[i*rank:(i+1)*rank], factor[j*rank:(j+1)*rank])
					scale := math.Sqrt(cov.At(i, i) * cov.At(j, j))
					within(t, "L·Lᵀ", got, cov.At(i, j), 1e-15*scale)
				}
			}
		})
	}
}

// TestRoundedCovariance: twelve digits of a singular matrix are good enough,
// three are not, and it says so.
func TestRoundedCovariance(t *testing.T) {
	third := 0.333333333333
	if _, rank, err := semidefiniteFactor(mat.NewSymDense(2, []float64{1, third, third, third * third})); err != nil || rank != 1 {
		t.Errorf("rank %d, error %v", rank, err)
	}
	if _, _, err := semidefiniteFactor(mat.NewSymDense(2, []float64{1, 0.334, 0.334, 0.111})); !errors.Is(err, ErrCovariance) {
		t.Errorf("error %v, want ErrCovariance", err)
	}
}
