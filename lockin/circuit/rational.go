package circuit

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/mat"
)

// This file: rational functions with stable poles, which obey the Kramers–Kronig
// relations by construction, fitted to a sweep by moving their poles.
//
// Symbols of Gustavsen and Semlyen, 1999: a_n poles, c_n residues, d and e constant
// and slope, σ the function whose zeros are the new poles.

// rational is Z(s) = Σ c_n/(s − a_n) + d + e·s. Pairs are given by the pole in the
// upper half plane.
type rational struct {
	poles []complex128
}

// order counts the poles, pairs as two.
func (r rational) order() int {
	n := 0
	for _, p := range r.poles {
		n++
		if imag(p) != 0 {
			n++
		}
	}
	return n
}

// basis writes the partial fractions at s: one for a real pole, two for a pair.
func (r rational) basis(dst []complex128, s complex128) []complex128 {
	dst = dst[:0]
	for _, p := range r.poles {
		if imag(p) == 0 {
			dst = append(dst, 1/(s-p))
			continue
		}
		a, b := 1/(s-p), 1/(s-cmplx.Conj(p))
		dst = append(dst, a+b, 1i*a-1i*b)
	}
	return dst
}

// startReal and startPairs spread poles over the band.
func startReal(n int, low, high float64) rational {
	var r rational
	for i := range n {
		r.poles = append(r.poles, complex(-spread(i, n, low, high), 0))
	}
	return r
}

func startPairs(n int, low, high float64) rational {
	var r rational
	for i := range n / 2 {
		w := spread(i, n/2, low, high)
		r.poles = append(r.poles, complex(-w/20, w))
	}
	if n%2 == 1 {
		r.poles = append(r.poles, complex(-low, 0))
	}
	return r
}

// startMixed is real poles, beyond the band too, and one pair for a resonance at w.
func startMixed(n int, low, high, w float64) rational {
	r := startReal(n-2, low/3, 3*high)
	r.poles = append(r.poles, complex(-w/5, w))
	return r
}

// spread returns the i-th of n values equally spaced on a logarithmic axis.
func spread(i, n int, low, high float64) float64 {
	if n == 1 {
		return math.Sqrt(low * high)
	}
	return low * math.Pow(high/low, float64(i)/float64(n-1))
}

// fitter fits rational functions to whitened data. Angular frequencies are relative to
// the middle of the band.
type fitter struct {
	s     []complex128
	z     []complex128
	white *whitener
	low   float64 // of the band
	high  float64
}

// rows writes a complex column, whitened, into column j of a.
func (f *fitter) rows(a *mat.Dense, j int, column []complex128) {
	out := make([]float64, 2*len(column))
	f.white.apply(out, column)
	a.SetCol(j, out)
}

// columns returns the whitened columns of the residues, d and e, and of what is added.
func (f *fitter) columns(r rational, added ...[]complex128) *mat.Dense {
	n := r.order()
	a := mat.NewDense(2*len(f.s), n+2+len(added), nil)
	all := make([][]complex128, n+2)
	for j := range all {
		all[j] = make([]complex128, len(f.s))
	}
	var b []complex128
	for i, s := range f.s {
		b = r.basis(b, s)
		for j, v := range b {
			all[j][i] = v
		}
		all[n][i], all[n+1][i] = 1, s
	}
	for j, column := range append(all, added...) {
		f.rows(a, j, column)
	}
	return a
}

// relocate moves the poles once.
func (f *fitter) relocate(r rational) rational {
	n := r.order()
	added := make([][]complex128, n)
	for j := range added {
		added[j] = make([]complex128, len(f.s))
	}
	var b []complex128
	for i, s := range f.s {
		b = r.basis(b, s)
		for j, v := range b {
			added[j][i] = -f.z[i] * v
		}
	}
	x, ok := solveLinear(f.columns(r, added...), f.right())
	if !ok {
		return r
	}
	return r.zerosOf(x[n+2:])
}

// right returns the whitened data.
func (f *fitter) right() []float64 {
	out := make([]float64, 2*len(f.z))
	f.white.apply(out, f.z)
	return out
}

// zerosOf returns the zeros of σ, mirrored into the left half plane: the eigenvalues
// of A − b cᵀ.
func (r rational) zerosOf(c []float64) rational {
	n := r.order()
	a := mat.NewDense(n, n, nil)
	at := 0
	for _, p := range r.poles {
		if imag(p) == 0 {
			a.Set(at, at, real(p))
			r.subtract(a, at, 1, c)
			at++
			continue
		}
		a.Set(at, at, real(p))
		a.Set(at, at+1, imag(p))
		a.Set(at+1, at, -imag(p))
		a.Set(at+1, at+1, real(p))
		r.subtract(a, at, 2, c)
		at += 2
	}
	var eigen mat.Eigen
	if !eigen.Factorize(a, mat.EigenNone) {
		return r
	}
	var out rational
	for _, v := range eigen.Values(nil) {
		if imag(v) < 0 {
			continue // the other of a pair
		}
		size := cmplx.Abs(v)
		if !isFinite(size) || size == 0 {
			return r
		}
		out.poles = append(out.poles, complex(-max(math.Abs(real(v)), 1e-6*size), imag(v)))
	}
	return out
}

func (r rational) subtract(a *mat.Dense, row int, b float64, c []float64) {
	for j, v := range c {
		a.Set(row, j, a.At(row, j)-b*v)
	}
}

// fit returns the least chi-square with those poles, with the residuals.
func (f *fitter) fit(r rational) (residuals []float64, sum float64) {
	a, b := f.columns(r), f.right()
	x, ok := solveLinear(a, b)
	if !ok {
		return b, math.Inf(1)
	}
	for i := range b {
		for j, v := range x {
			b[i] -= a.At(i, j) * v
		}
	}
	return b, sumSquares(b)
}

// solveLinear solves a least-squares problem with columns brought to one length.
func solveLinear(a *mat.Dense, b []float64) ([]float64, bool) {
	rows, cols := a.Dims()
	if rows < cols {
		return nil, false
	}
	w := reducer{rows: rows, cols: cols, a: make([]float64, rows*cols), b: append([]float64(nil), b...), x: make([]float64, cols), heads: make([]float64, cols)}
	size := make([]float64, cols)
	for j := range cols {
		column := mat.Col(w.a[j*rows:(j+1)*rows], j, a)
		if size[j] = norm(column); size[j] == 0 {
			continue
		}
		for i := range column {
			column[i] /= size[j]
		}
	}
	w.reduce()
	w.back()
	for j := range w.x {
		if size[j] != 0 {
			w.x[j] /= size[j]
		}
		if !isFinite(w.x[j]) {
			return nil, false
		}
	}
	return w.x, true
}
