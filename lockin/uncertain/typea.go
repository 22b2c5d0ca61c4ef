package uncertain

import (
	"errors"
	"fmt"
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/mat"

	"example.org/wheatear/lockin/internal/errkind"
)

// ErrTooFew is wrapped where a spread is asked of fewer than two repeats.
var ErrTooFew = errors.New("at least two repeats are needed for a spread")

// Mean returns the mean of repeated observations, its standard uncertainty
//
//	u = √(Σ(x_k − x̄)²/(n(n−1)))
//
// and its degrees of freedom n−1. Errors: fewer than two observations
// (ErrTooFew), or one that is not finite. Reference: JCGM 100:2008, 4.2.3.
func Mean(x []float64) (mean, u, dof float64, err error) {
	means, cov, dof, err := MeanCov([][]float64{x})
	if err != nil {
		return math.NaN(), math.NaN(), 0, err
	}
	return means[0], math.Sqrt(cov.At(0, 0)), dof, nil
}

// MeanCov returns the means of several quantities observed together, and the
// covariance of the means
//
//	s(q̄, w̄) = Σ(q_k − q̄)(w_k − w̄)/(n(n−1))
//
// columns[i][k] is observation k of quantity i; all columns are of one length n.
// dof is n−1. Errors: as Mean, and columns of unequal length.
// Reference: JCGM 100:2008, 5.2.3.
func MeanCov(columns [][]float64) (means []float64, cov *mat.SymDense, dof float64, err error) {
	if len(columns) == 0 || len(columns[0]) < 2 {
		return nil, nil, 0, fmt.Errorf("uncertain: %w", ErrTooFew)
	}
	n := len(columns[0])
	means = make([]float64, len(columns))
	for i, c := range columns {
		if len(c) != n {
			return nil, nil, 0, errkind.Errorf(ErrInput, "uncertain: quantity %d has %d observations, quantity 0 has %d; give as many of each", i, len(c), n)
		}
		if means[i], err = meanOf(c); err != nil {
			return nil, nil, 0, errkind.Errorf(ErrInput, "uncertain: quantity %d: %w", i, err)
		}
	}
	cov = mat.NewSymDense(len(columns), nil)
	for i := range columns {
		for j := i; j < len(columns); j++ {
			sum := 0.0
			for k := range n {
				sum += (columns[i][k] - means[i]) * (columns[j][k] - means[j])
			}
			cov.SetSym(i, j, sum/float64(n)/float64(n-1))
		}
	}
	return means, cov, float64(n - 1), nil
}

// meanOf adds the deviations from the first observation, so that close
// observations of a large value lose nothing.
func meanOf(x []float64) (float64, error) {
	sum := 0.0
	for k, v := range x {
		if !finite(v) {
			return 0, fmt.Errorf("observation %d is %g; leave it out", k, v)
		}
		sum += v - x[0]
	}
	return x[0] + sum/float64(len(x)), nil
}

// MeanComplex returns the mean of repeated complex observations and the
// covariance of its real and imaginary parts; dof is n−1. Phases are thereby
// averaged around the circle: 0.5∠179.9° and 0.5∠−179.9° have a mean of 0.5∠180°.
// Errors: as Mean.
func MeanComplex(z []complex128) (mean complex128, cov *mat.SymDense, dof float64, err error) {
	re, im := make([]float64, len(z)), make([]float64, len(z))
	for k, v := range z {
		re[k], im[k] = real(v), imag(v)
	}
	means, cov, dof, err := MeanCov([][]float64{re, im})
	if err != nil {
		return cmplx.NaN(), nil, 0, err
	}
	return complex(means[0], means[1]), cov, dof, nil
}

// Polar returns modulus and phase (radians) of a complex value with their
// standard uncertainties to first order:
//
//	u²(|z|) = eᵀVe,  u(φ) = √(nᵀVn)/|z|,  e along z, n across it
//
// cov is 2 × 2, ordered Re, Im. At z = 0 the phase and its uncertainty are NaN,
// and the modulus has the larger of the two axes' uncertainties. To first order
// the modulus is not corrected for its bias, about u²/(2|z|): where u is not
// small, use MonteCarlo.
func Polar(z complex128, cov mat.Symmetric) (modulus, uModulus, phase, uPhase float64) {
	modulus, phase = cmplx.Polar(z)
	if cov == nil || cov.SymmetricDim() != 2 {
		return modulus, math.NaN(), phase, math.NaN()
	}
	if modulus == 0 {
		return 0, math.Sqrt(math.Max(cov.At(0, 0), cov.At(1, 1))), math.NaN(), math.NaN()
	}
	c, s := real(z)/modulus, imag(z)/modulus
	along := c*c*cov.At(0, 0) + 2*c*s*cov.At(0, 1) + s*s*cov.At(1, 1)
	across := s*s*cov.At(0, 0) - 2*c*s*cov.At(0, 1) + c*c*cov.At(1, 1)
	return modulus, math.Sqrt(math.Max(0, along)), phase, math.Sqrt(math.Max(0, across)) / modulus
}
