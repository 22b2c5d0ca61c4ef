package circuit

import "math"

// reducer solves the linear least-squares problem of a step,
//
//	| J        | δ  ≈  −r
//	| √λ D     |        0
//
// by Householder reflections, column by column. It keeps its workspace.
type reducer struct {
	a, b, x    []float64 // a is stored by columns
	heads      []float64 // first elements of the reflections
	rows, cols int
}

// solve leaves the step of the free variables in x.
func (w *reducer) solve(s *search) {
	n := len(s.at.X)
	w.cols = len(s.free)
	w.rows = s.p.Count + w.cols
	w.a = resize(w.a, w.rows*w.cols)
	w.b = resize(w.b, w.rows)
	w.x, w.heads = resize(w.x, w.cols), resize(w.heads, w.cols)
	for i, r := range s.at.Residuals {
		w.b[i] = -r
		for c, k := range s.free {
			w.a[c*w.rows+i] = s.at.Jacobian[i*n+k]
		}
	}
	for c, k := range s.free {
		w.a[c*w.rows+s.p.Count+c] = math.Sqrt(s.lambda) * s.scale[k]
	}
	w.reduce()
	w.back()
}

// again leaves in x the answer of the same system to −r in place of the residuals.
func (w *reducer) again(r []float64) {
	clear(w.b)
	for i, v := range r {
		w.b[i] = -v
	}
	for c, head := range w.heads {
		if head != 0 {
			column := w.a[c*w.rows+c : (c+1)*w.rows]
			diagonal := column[0]
			column[0] = head
			reflect(column, w.b[c:], 1/(diagonal*head))
			column[0] = diagonal
		}
	}
	w.back()
}

// resize returns a slice of zeros of that length, the old one if it is large enough.
func resize(s []float64, n int) []float64 {
	if cap(s) < n {
		return make([]float64, n)
	}
	s = s[:n]
	clear(s)
	return s
}

// reduce makes a upper triangular, and turns b along with it.
func (w *reducer) reduce() {
	for c := range w.cols {
		column := w.a[c*w.rows+c : (c+1)*w.rows]
		norm := norm(column)
		if norm == 0 {
			continue
		}
		if column[0] > 0 {
			norm = -norm
		}
		head := column[0] - norm
		scale := 1 / (norm * head) // −2/|v|²
		column[0] = head
		for next := c + 1; next < w.cols; next++ {
			reflect(column, w.a[next*w.rows+c:(next+1)*w.rows], scale)
		}
		reflect(column, w.b[c:], scale)
		column[0], w.heads[c] = norm, head
	}
}

// reflect adds scale·v·(v·x) to x.
func reflect(v, x []float64, scale float64) {
	var dot float64
	for i := range v {
		dot += v[i] * x[i]
	}
	dot *= scale
	for i := range v {
		x[i] += dot * v[i]
	}
}

// back substitutes; a direction that nothing decides stays at zero.
func (w *reducer) back() {
	for c := w.cols - 1; c >= 0; c-- {
		sum := w.b[c]
		for next := c + 1; next < w.cols; next++ {
			sum -= w.a[next*w.rows+c] * w.x[next]
		}
		if d := w.a[c*w.rows+c]; d != 0 {
			w.x[c] = sum / d
		}
	}
}

func norm(x []float64) float64 {
	var top float64
	for _, v := range x {
		top = max(top, math.Abs(v))
	}
	if top == 0 || !isFinite(top) {
		return 0
	}
	var sum float64
	for _, v := range x {
		sum += (v / top) * (v / top)
	}
	return top * math.Sqrt(sum)
}
