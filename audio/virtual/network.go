package virtual

import "gonum.org/v1/gonum/mat"

// node is a node of a network; node 0 is ground.
type node int

// network collects elements as the equations of modified nodal analysis (C.-W. Ho,
// A. E. Ruehli, P. A. Brennan, IEEE Trans. Circuits Syst. 22, 1975):
//
//	(G + d/dt C) x = B in
//
// x holds the node voltages and the currents of branches: inductors, wires,
// voltage sources. C = F D Fᵀ, one column of F and one entry of D for each
// capacitor (its capacitance) and inductor (minus its inductance). The inputs are
// the drive and one for each port of an element that is not linear.
type network struct {
	nodes    int // including ground
	branches int
	g        []entry // rows and columns as in x, ground left out later
	f        [][2]unknown
	d        []float64
	b        [][]source // per input
	ports    []probe    // what an element that is not linear sees
	probes   []probe    // the two outputs
}

// unknown names an entry of x: a node's voltage or a branch's current.
type unknown struct {
	branch bool
	index  int
}

type entry struct {
	row, col unknown
	value    float64
}

type source struct {
	row   unknown
	value float64
}

// probe is a linear combination of unknowns.
type probe []source

func newNetwork() *network { return &network{nodes: 1, b: make([][]source, 1)} }

func (n *network) node() node { n.nodes++; return node(n.nodes - 1) }

func (n *network) branch() unknown { n.branches++; return unknown{true, n.branches - 1} }

func volts(a node) unknown { return unknown{false, int(a)} }

func (n *network) stamp(row, col unknown, value float64) {
	n.g = append(n.g, entry{row, col, value})
}

// conductance adds siemens between a and b.
func (n *network) conductance(a, b node, siemens float64) {
	n.transfer(a, b, a, b, siemens)
}

// transfer adds a current from a to b of siemens times the voltage from p to q.
func (n *network) transfer(a, b, p, q node, siemens float64) {
	n.stamp(volts(a), volts(p), siemens)
	n.stamp(volts(a), volts(q), -siemens)
	n.stamp(volts(b), volts(p), -siemens)
	n.stamp(volts(b), volts(q), siemens)
}

// wire adds a branch from a to b without voltage and returns its current.
func (n *network) wire(a, b node) unknown {
	i := n.branch()
	n.stamp(volts(a), i, 1)
	n.stamp(volts(b), i, -1)
	n.stamp(i, volts(a), 1)
	n.stamp(i, volts(b), -1)
	return i
}

// resistor adds ohms between a and b; none are a wire.
func (n *network) resistor(a, b node, ohms float64) {
	if ohms == 0 {
		n.wire(a, b)
		return
	}
	n.conductance(a, b, 1/ohms)
}

// capacitor adds farads between a and b.
func (n *network) capacitor(a, b node, farads float64) {
	if farads > 0 {
		n.f = append(n.f, [2]unknown{volts(a), volts(b)})
		n.d = append(n.d, farads)
	}
}

// inductor adds henries between a and b; none are a wire.
func (n *network) inductor(a, b node, henries float64) {
	i := n.wire(a, b)
	if henries > 0 {
		n.f = append(n.f, [2]unknown{i, volts(0)})
		n.d = append(n.d, -henries)
	}
}

// drive adds the voltage source of the drive between a and ground, behind ohms.
func (n *network) drive(a node, ohms float64) {
	if ohms == 0 {
		i := n.wire(a, 0)
		n.b[0] = append(n.b[0], source{i, 1})
		return
	}
	n.conductance(a, 0, 1/ohms)
	n.b[0] = append(n.b[0], source{volts(a), 1 / ohms})
}

// currentPort adds a current from a to b that an element sets as it sees the
// voltage from a to b.
func (n *network) currentPort(a, b node) {
	n.b = append(n.b, []source{{volts(a), -1}, {volts(b), 1}})
	n.ports = append(n.ports, across(a, b))
}

// voltagePort adds a voltage from a to b that an element sets as it sees the
// current from a to b.
func (n *network) voltagePort(a, b node) {
	i := n.wire(a, b)
	n.b = append(n.b, []source{{i, 1}})
	n.ports = append(n.ports, probe{{i, 1}})
}

// across is the voltage from a to b.
func across(a, b node) probe { return probe{{volts(a), 1}, {volts(b), -1}} }

// circuit adds a two-terminal network between a and b.
func (n *network) circuit(c *circuit, a, b node) {
	switch c.kind {
	case 'R':
		n.resistor(a, b, c.value)
	case 'C':
		n.capacitor(a, b, c.value)
	case 'L':
		n.inductor(a, b, c.value)
	case '/':
		for _, part := range c.parts {
			n.circuit(part, a, b)
		}
	case '+':
		for i, part := range c.parts {
			next := b
			if i < len(c.parts)-1 {
				next = n.node()
			}
			n.circuit(part, a, next)
			a = next
		}
	}
}

// size is the number of unknowns.
func (n *network) size() int { return n.nodes - 1 + n.branches }

// index is the place of an unknown in x, -1 for ground.
func (n *network) index(u unknown) int {
	if u.branch {
		return n.nodes - 1 + u.index
	}
	return u.index - 1
}

// matrices returns G, F, and the columns of B and of the probes (outputs, then ports).
func (n *network) matrices() (g, f, b, l *mat.Dense) {
	size := n.size()
	g = mat.NewDense(size, size, nil)
	for _, e := range n.g {
		n.add(g, n.index(e.row), n.index(e.col), e.value)
	}
	f = mat.NewDense(size, max(1, len(n.f)), nil) // a matrix has at least one column
	for k, ends := range n.f {
		n.add(f, n.index(ends[0]), k, 1)
		n.add(f, n.index(ends[1]), k, -1)
	}
	b = n.columns(n.b)
	all := append(append([]probe{}, n.probes...), n.ports...)
	rows := make([][]source, len(all))
	for i, p := range all {
		rows[i] = p
	}
	return g, f, b, n.columns(rows)
}

func (n *network) columns(of [][]source) *mat.Dense {
	m := mat.NewDense(n.size(), len(of), nil)
	for k, col := range of {
		for _, s := range col {
			n.add(m, n.index(s.row), k, s.value)
		}
	}
	return m
}

// add adds to an entry, unless it is one of ground.
func (n *network) add(m *mat.Dense, row, col int, value float64) {
	if row >= 0 && col >= 0 {
		m.Set(row, col, m.At(row, col)+value)
	}
}
