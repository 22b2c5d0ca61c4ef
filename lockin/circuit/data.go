package circuit

import (
	"errors"
	"fmt"
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/mat"
)

// Data is a sweep: impedances in ohm at frequencies in hertz, and how far they can be
// relied on.
type Data struct {
	FreqHz []float64
	Z      []complex128
	// Cov has the covariance of each point, independent of the others. Nil, without
	// Full: not known; a fit then takes the same relative noise everywhere and finds
	// its size in the residuals.
	Cov []Cov
	// Full replaces Cov where points share errors: 2n × 2n in ohm², in the order
	// Re Z_1, Im Z_1, Re Z_2, …
	Full mat.Symmetric

	// AtS and LevelV are when each point was read (seconds from any origin) and how
	// strongly (volts rms across the part). Only Check uses them; nil: not known.
	AtS, LevelV []float64
}

// Cov is the covariance of the real and the imaginary part of an impedance, ohm².
type Cov struct{ ReRe, ReIm, ImIm float64 }

// Relative returns the covariances of impedances whose real and imaginary parts each
// have the standard uncertainty rel·|Z|, without correlation.
func Relative(z []complex128, rel float64) []Cov {
	cov := make([]Cov, len(z))
	for i, v := range z {
		u := rel * cmplx.Abs(v)
		cov[i] = Cov{ReRe: u * u, ImIm: u * u}
	}
	return cov
}

// ErrData is wrapped by what is wrong with a sweep.
var ErrData = errors.New("circuit: the sweep cannot be used")

// check says what is wrong with the sweep.
func (d *Data) check() error {
	if d == nil {
		return fmt.Errorf("%w: there is none", ErrData)
	}
	n := len(d.FreqHz)
	switch {
	case n == 0:
		return fmt.Errorf("%w: it has no points", ErrData)
	case len(d.Z) != n:
		return fmt.Errorf("%w: %d frequencies but %d impedances", ErrData, n, len(d.Z))
	case d.Cov != nil && len(d.Cov) != n:
		return fmt.Errorf("%w: %d points but %d covariances", ErrData, n, len(d.Cov))
	case d.Full != nil && d.Full.SymmetricDim() != 2*n:
		return fmt.Errorf("%w: the full covariance of %d points has %d rows, not %d", ErrData, n, d.Full.SymmetricDim(), 2*n)
	case d.AtS != nil && len(d.AtS) != n, d.LevelV != nil && len(d.LevelV) != n:
		return fmt.Errorf("%w: times and levels must be there for all %d points or none", ErrData, n)
	}
	for i, f := range d.FreqHz {
		z := d.Z[i]
		if !(f > 0) || !isFinite(f) || cmplx.IsNaN(z) || cmplx.IsInf(z) || z == 0 {
			return fmt.Errorf("%w: point %d has frequency %g Hz and impedance %v ohm; leave it out", ErrData, i+1, f, z)
		}
	}
	return nil
}

// whitener turns differences of impedances into numbers of standard deviation 1,
// without correlation.
type whitener struct {
	points []whitePoint
	full   *mat.TriDense // inverse of the Cholesky factor; replaces points
	known  bool          // the size of the noise, not only its shape
}

// whitePoint is the inverse of the Cholesky factor of a 2 × 2 covariance.
type whitePoint struct{ re, mixed, im float64 }

func newWhitener(d *Data) (*whitener, error) {
	w := &whitener{known: d.Cov != nil || d.Full != nil}
	if d.Full != nil {
		var chol mat.Cholesky
		if !chol.Factorize(d.Full) {
			return nil, fmt.Errorf("%w: the full covariance is not positive definite; points that repeat each other must be joined", ErrData)
		}
		var lower mat.TriDense
		chol.LTo(&lower)
		w.full = new(mat.TriDense)
		if err := w.full.InverseTri(&lower); err != nil {
			return nil, fmt.Errorf("%w: the full covariance is singular: %v", ErrData, err)
		}
		return w, nil
	}
	cov := d.Cov
	if cov == nil {
		cov = Relative(d.Z, 1)
	}
	w.points = make([]whitePoint, len(cov))
	for i, c := range cov {
		a := math.Sqrt(c.ReRe)
		b := c.ReIm / a
		rest := math.Sqrt(c.ImIm - b*b)
		if !(a > 0) || !(rest > 0) || math.IsInf(a, 0) || math.IsInf(rest, 0) {
			return nil, fmt.Errorf("%w: point %d at %g Hz has the covariance %v, which is not positive definite", ErrData, i+1, d.FreqHz[i], c)
		}
		w.points[i] = whitePoint{1 / a, -b / (a * rest), 1 / rest}
	}
	return w, nil
}

// apply writes the whitened difference of all points into dst, 2 per point.
func (w *whitener) apply(dst []float64, diff []complex128) {
	if w.full == nil {
		for i, p := range w.points {
			dst[2*i] = p.re * real(diff[i])
			dst[2*i+1] = p.mixed*real(diff[i]) + p.im*imag(diff[i])
		}
		return
	}
	for row := range dst {
		var sum float64
		for col := 0; col <= row; col++ {
			part := real(diff[col/2])
			if col%2 == 1 {
				part = imag(diff[col/2])
			}
			sum += w.full.At(row, col) * part
		}
		dst[row] = sum
	}
}
