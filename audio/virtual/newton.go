package virtual

import "math"

// newton solves for the elements at all nodes of a block at once. Unknown k·ports+q is
// that of element q at node k+1. What port q sees there is
//
//	seen_i = ahead_i + Σ slope_ij s_j(w_j),
//
// and an element that stores integrates what it sees along the block:
//
//	g(w_i) = g_begin + h Σ_k weight_ik seen_k,  or g(w_i) = seen_i.
//
// With what is seen put in, g(w_i) = base_i + Σ response_ij s_j(w_j).
type newton struct {
	elements []element
	slope    [][]float64
	response [][]float64
	h        float64

	base, g, dg, s, ds []float64
	f, matrix          []float64
	begin              []float64 // g at the beginning of the block, of the last solution
}

func newNewton(elements []element, slope [][]float64, h float64) newton {
	ports := len(elements)
	size := block * ports
	of := func() []float64 { return make([]float64, size) }
	n := newton{elements: elements, slope: slope, response: slope, h: h, base: of(), g: of(), dg: of(), s: of(), ds: of(),
		f: of(), matrix: make([]float64, size*size), begin: make([]float64, ports)}
	n.response = make([][]float64, size)
	for i := range n.response {
		q := i % ports
		if !elements[q].stores() {
			n.response[i] = slope[i]
			continue
		}
		n.response[i] = of()
		for k := range block {
			for j := range size {
				n.response[i][j] += h * along[i/ports][k+1] * slope[k*ports+q][j]
			}
		}
	}
	return n
}

// maxNewton is far beyond what is needed: a block usually takes two or three.
const maxNewton = 100

// solve starts from the guess in w and leaves there what it found, and in given and
// seen what the elements give and the ports see. first is what the ports saw at the
// beginning of the block. It reports whether it found a solution.
func (n *newton) solve(w, seen, given, ahead, first []float64) bool {
	ports := len(n.elements)
	for i := range w {
		q := i % ports
		n.base[i] = ahead[i]
		if n.elements[q].stores() {
			sum := along[i/ports][0] * first[q]
			for k := range block {
				sum += along[i/ports][k+1] * ahead[k*ports+q]
			}
			n.base[i] = n.begin[q] + n.h*sum
		}
	}
	for range maxNewton {
		n.equations(w)
		if !eliminate(n.matrix, n.f) {
			return false
		}
		settled := true
		for i := range w {
			e := n.elements[i%ports]
			next := e.limit(w[i], w[i]-n.f[i])
			n.f[i] = next - w[i]
			settled = settled && math.Abs(n.f[i]) <= e.fine()
			w[i] = next
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
	ports := len(n.elements)
	for i, step := range n.f {
		given[i] = n.s[i] + n.ds[i]*step
	}
	for i, row := range n.slope {
		seen[i] = ahead[i]
		for j, v := range given {
			seen[i] += row[j] * v
		}
	}
	end := len(n.f) - ports
	for q := range ports {
		n.begin[q] = n.g[end+q] + n.dg[end+q]*n.f[end+q]
	}
}

// equations fills in the laws at w, the residual and its slopes.
func (n *newton) equations(w []float64) {
	size, ports := len(w), len(n.elements)
	for i, v := range w {
		n.g[i], n.dg[i], n.s[i], n.ds[i] = n.elements[i%ports].at(v)
	}
	for i, row := range n.response {
		f := n.g[i] - n.base[i]
		for j, v := range row {
			f -= v * n.s[j]
			n.matrix[i*size+j] = -v * n.ds[j]
		}
		n.f[i] = f
		n.matrix[i*size+i] += n.dg[i]
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
