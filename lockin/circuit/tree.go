package circuit

import "math"

// node is an element, or others in series or in parallel.
type node struct {
	join  byte // 0 for an element; '+' series, '/' parallel
	parts []*node
	kind  *kind
	args  []arg
	id    int // place in the workspace
}

// arg is a value of an element: known, or one of the unknowns.
type arg struct {
	known float64
	slot  int // of the unknown; -1 if known
}

// Unknown is a value that a circuit leaves open.
type Unknown struct {
	Name string // as in the notation; elements with two values add .n, .f or .R
	Unit string // SI; empty for a number

	element byte
	scale   scale
}

// Circuit is a two-terminal network. It does not change and may be used from
// several goroutines. The zero Circuit is a wire.
type Circuit struct {
	root     *node
	unknowns []Unknown
	nodes    int
}

// Unknowns returns the unknowns in the order in which they are first named: the
// order of values everywhere.
func (c *Circuit) Unknowns() []Unknown { return append([]Unknown(nil), c.unknowns...) }

// Elements returns how many elements the circuit has.
func (c *Circuit) Elements() int {
	if c.root == nil {
		return 0
	}
	return c.root.count()
}

func (n *node) count() int {
	if n.join == 0 {
		return 1
	}
	sum := 0
	for _, p := range n.parts {
		sum += p.count()
	}
	return sum
}

// Impedance returns Z in ohm at a frequency in hertz, with values for the unknowns
// in SI units. Infinity is an open circuit. NaN where the frequency is negative or
// not a number, or there are fewer values than unknowns.
func (c *Circuit) Impedance(freqHz float64, values ...float64) complex128 {
	if !(freqHz >= 0) || len(values) < len(c.unknowns) {
		return complex(math.NaN(), math.NaN())
	}
	if c.root == nil {
		return 0
	}
	return c.root.z(2*math.Pi*freqHz, values, nil)
}

// z returns the impedance, and keeps that of every node in work if there is one.
func (n *node) z(w float64, values []float64, work []complex128) complex128 {
	var z complex128
	switch n.join {
	case 0:
		var p [2]float64
		z = n.kind.z(w, n.fill(&p, values), nil)
	case '+':
		for _, part := range n.parts {
			z += part.z(w, values, work)
		}
		if isOpen(z) {
			z = nothing
		}
	default:
		z = n.parallel(w, values, work)
	}
	if work != nil {
		work[n.id] = z
	}
	return z
}

// parallel adds admittances; a short circuit in any part is one of all.
func (n *node) parallel(w float64, values []float64, work []complex128) complex128 {
	var y complex128
	short := false
	for _, part := range n.parts {
		z := part.z(w, values, work)
		switch {
		case z == 0:
			short = true
		case !isOpen(z):
			y += inverse(z)
		}
	}
	switch {
	case short:
		return 0
	case y == 0:
		return nothing
	}
	return inverse(y)
}

// inverse returns 1/z, faster than a division where no square leaves the range of a
// float.
func inverse(z complex128) complex128 {
	square := real(z)*real(z) + imag(z)*imag(z)
	if !(square > 1e-280 && square < 1e280) {
		return 1 / z
	}
	return complex(real(z)/square, -imag(z)/square)
}

// isOpen says whether z is infinite in any way.
func isOpen(z complex128) bool {
	return math.IsInf(real(z), 0) || math.IsInf(imag(z), 0)
}

// fill gathers the values of an element.
func (n *node) fill(p *[2]float64, values []float64) []float64 {
	for i, a := range n.args {
		p[i] = a.known
		if a.slot >= 0 {
			p[i] = values[a.slot]
		}
	}
	return p[:len(n.args)]
}

// slopes adds factor·dz/dvalue to grad for every unknown below n. The impedances of
// the nodes are those that z left in work.
func (n *node) slopes(w float64, values []float64, work, grad []complex128, factor complex128) {
	if n.join == 0 {
		var p [2]float64
		var d [2]complex128
		n.kind.z(w, n.fill(&p, values), d[:len(n.args)])
		for i, a := range n.args {
			if a.slot >= 0 {
				grad[a.slot] += factor * d[i]
			}
		}
		return
	}
	for _, part := range n.parts {
		f := factor
		if n.join == '/' {
			share := work[n.id] * inverse(work[part.id]) // of the current
			if work[part.id] == 0 || isOpen(work[part.id]) {
				continue // its own value decides nothing nearby
			}
			f *= share * share
		}
		part.slopes(w, values, work, grad, f)
	}
}

// With returns the circuit with values in place of the first unknowns; all of them
// if there are as many values. Values beyond are ignored.
func (c *Circuit) With(values []float64) *Circuit {
	known := min(len(values), len(c.unknowns))
	out := &Circuit{unknowns: append([]Unknown(nil), c.unknowns[known:]...), nodes: c.nodes}
	if c.root != nil {
		out.root = c.root.with(values[:known])
	}
	return out
}

func (n *node) with(values []float64) *node {
	out := *n
	out.parts, out.args = nil, nil
	for _, p := range n.parts {
		out.parts = append(out.parts, p.with(values))
	}
	for _, a := range n.args {
		switch {
		case a.slot >= len(values):
			a.slot -= len(values)
		case a.slot >= 0:
			a = arg{known: values[a.slot], slot: -1}
		}
		out.args = append(out.args, a)
	}
	return &out
}
