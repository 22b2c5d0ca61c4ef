package virtual

import "math"

// newton solves for the elements at the end of a step. What port q sees is
// ahead_q + Σ slope_qr s_r(w_r). An element that stores integrates it by the
// trapezoidal rule:
//
//	g(w) = g_old + h/2 (seen_old + seen),  or g(w) = seen.
type newton struct {
	elements []element
	slope    [][]float64
	h        float64

	base, rate []float64 // g(w) = base + rate·seen
	ds         []float64
	f, matrix  []float64
	before     []float64 // w a step earlier
}

func newNewton(elements []element, slope [][]float64, h float64) newton {
	n := len(elements)
	return newton{elements: elements, slope: slope, h: h, base: make([]float64, n), rate: make([]float64, n),
		ds: make([]float64, n), f: make([]float64, n), matrix: make([]float64, n*n), before: make([]float64, n)}
}

// maxNewton is far beyond what is needed: a step usually takes two.
const maxNewton = 100

// solve starts from the values of the step before and leaves the new ones in w,
// seen and given. It reports whether it found them.
func (n *newton) solve(w, seen, given, ahead []float64) bool {
	for q, e := range n.elements {
		n.base[q], n.rate[q] = 0, 1
		if e.stores() {
			g, _, _, _ := e.at(w[q])
			n.base[q], n.rate[q] = g+n.h/2*seen[q], n.h/2
		}
	}
	for q, v := range w { // on along the line of the last two steps
		w[q], n.before[q] = 2*v-n.before[q], v
	}
	for range maxNewton {
		n.equations(w, seen, given, ahead)
		if !eliminate(n.matrix, n.f) {
			return false
		}
		settled := true
		for q, e := range n.elements {
			next := e.limit(w[q], w[q]-n.f[q])
			n.f[q] = next - w[q]
			settled = settled && math.Abs(n.f[q]) <= e.fine()
			w[q] = next
		}
		if settled {
			n.last(seen, given, ahead)
			return true
		}
	}
	return false
}

// last adds what the last and very small step changes.
func (n *newton) last(seen, given, ahead []float64) {
	for q, step := range n.f {
		given[q] += n.ds[q] * step
	}
	for q := range seen {
		seen[q] = ahead[q]
		for r, v := range given {
			seen[q] += n.slope[q][r] * v
		}
	}
}

// equations fills in what is seen and given at w, the residual and its slopes.
func (n *newton) equations(w, seen, given, ahead []float64) {
	size := len(w)
	for q, e := range n.elements {
		n.f[q], n.matrix[q*size+q], given[q], n.ds[q] = e.at(w[q])
		for r := range size {
			if r != q {
				n.matrix[q*size+r] = 0
			}
		}
	}
	for q := range n.elements {
		seen[q] = ahead[q]
		for r := range size {
			seen[q] += n.slope[q][r] * given[r]
			n.matrix[q*size+r] -= n.rate[q] * n.slope[q][r] * n.ds[r]
		}
		n.f[q] -= n.base[q] + n.rate[q]*seen[q]
	}
}

// eliminate solves a·x = f in place of f, by Gauss with the largest pivot.
func eliminate(a, f []float64) bool {
	n := len(f)
	for col := range n {
		best := col
		for row := col + 1; row < n; row++ {
			if math.Abs(a[row*n+col]) > math.Abs(a[best*n+col]) {
				best = row
			}
		}
		pivot := a[best*n+col]
		if pivot == 0 || math.IsNaN(pivot) || math.IsInf(pivot, 0) {
			return false
		}
		for k := range n {
			a[col*n+k], a[best*n+k] = a[best*n+k], a[col*n+k]
		}
		f[col], f[best] = f[best], f[col]
		for row := range n {
			if row == col {
				continue
			}
			factor := a[row*n+col] / pivot
			for k := col; k < n; k++ {
				a[row*n+k] -= factor * a[col*n+k]
			}
			f[row] -= factor * f[col]
		}
	}
	for i := range f {
		f[i] /= a[i*n+i]
	}
	return true
}
