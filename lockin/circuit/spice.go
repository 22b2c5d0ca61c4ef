package circuit

import (
	"fmt"
	"math"
	"math/cmplx"
	"strconv"
	"strings"

	"gonum.org/v1/gonum/mat"

	"example.org/wheatear/lockin/internal/errkind"
)

// Subcircuit is a circuit as a circuit simulator reads it.
type Subcircuit struct {
	Text string // from .subckt to .ends
	// Exact says that it is the circuit itself. Otherwise elements that simulators
	// lack stand in it as ladders, which hold from LowHz to HighHz within Error,
	// relative, of the whole circuit.
	Exact         bool
	LowHz, HighHz float64
	Error         float64
}

// Spice writes a circuit without unknowns as a subcircuit with the terminals a and
// b. Elements that are no lumped ones (Q, W, K, S, E, T) become chains of resistors
// with capacitors or inductors across them, which is what their impedance is a
// limit of, fitted between two frequencies.
//
// Errors: unknowns that have no value yet, a name that simulators do not take, and
// for elements that are not lumped a range of frequencies that is none.
//
// Source: the chains are the canonical form of Foster, Bell Syst. Tech. J. 3 (1924)
// 259, and Cauer, for impedances of two kinds of elements.
func (c *Circuit) Spice(name string, lowHz, highHz float64) (*Subcircuit, error) {
	switch {
	case len(c.unknowns) > 0:
		return nil, fmt.Errorf("circuit: %s has no value yet: fit the circuit first", c.unknowns[0].Name)
	case !simulatorName(name):
		return nil, errkind.Errorf(ErrConfig, "circuit: %q is no name for a subcircuit: use letters, digits and _, beginning with a letter", name)
	}
	w := &netlist{lowHz: lowHz, highHz: highHz, exact: true}
	fmt.Fprintf(&w.text, ".subckt %s a b\n", name)
	if c.root == nil {
		w.wire("a", "b")
	} else if err := w.node(c.root, "a", "b"); err != nil {
		return nil, err
	}
	fmt.Fprintf(&w.text, ".ends %s\n", name)
	out := &Subcircuit{Text: w.text.String(), Exact: w.exact}
	if !w.exact {
		out.LowHz, out.HighHz = lowHz, highHz
		out.Error = c.apart(w, lowHz, highHz)
	}
	return out, nil
}

func simulatorName(name string) bool {
	for i, r := range name {
		letter := r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z'
		if !letter && (i == 0 || r != '_' && (r < '0' || r > '9')) {
			return false
		}
	}
	return name != ""
}

// netlist is a subcircuit that grows.
type netlist struct {
	text          strings.Builder
	count, nodes  int
	lowHz, highHz float64
	exact         bool
	stands        map[*node]*chain // in place of elements that are not lumped
}

// fresh is a node that nothing is connected to yet.
func (w *netlist) fresh() string {
	w.nodes++
	return "n" + strconv.Itoa(w.nodes)
}

func (w *netlist) line(letter byte, a, b string, value float64) {
	w.count++
	fmt.Fprintf(&w.text, "%c%d %s %s %s\n", letter, w.count, a, b, strconv.FormatFloat(value, 'g', 12, 64))
}

// wire joins two nodes: a source of no volts, since simulators take a resistor of 0
// for one that has no value.
func (w *netlist) wire(a, b string) { w.line('V', a, b, 0) }

func (w *netlist) node(n *node, a, b string) error {
	switch n.join {
	case 0:
		return w.element(n, a, b)
	case '+':
		at := a
		for i, p := range n.parts {
			to := b
			if i < len(n.parts)-1 {
				to = w.fresh()
			}
			if err := w.node(p, at, to); err != nil {
				return err
			}
			at = to
		}
	default:
		for _, p := range n.parts {
			if err := w.node(p, a, b); err != nil {
				return err
			}
		}
	}
	return nil
}

func (w *netlist) element(n *node, a, b string) error {
	var p [2]float64
	values := n.fill(&p, nil)
	switch letter := n.kind.letter; letter {
	case 'R', 'C', 'L':
		switch {
		case values[0] > 0:
			w.line(letter, a, b, values[0])
		case letter != 'C': // no capacitance is no connection
			w.wire(a, b)
		}
		return nil
	}
	return w.distributed(n, values, a, b)
}

// distributed puts a chain in place of an element.
func (w *netlist) distributed(n *node, values []float64, a, b string) error {
	if !(w.lowHz > 0) || !(w.highHz > w.lowHz) || math.IsInf(w.highHz, 0) {
		return fmt.Errorf("circuit: %c is no lumped element: give the frequencies between which its ladder is to hold", n.kind.letter)
	}
	ch := newChain(n.kind, values, w.lowHz, w.highHz)
	if w.stands == nil {
		w.stands = map[*node]*chain{}
	}
	w.stands[n], w.exact = ch, false
	fmt.Fprintf(&w.text, "* a ladder for %c, from %.4g Hz to %.4g Hz within %.1g\n", n.kind.letter, w.lowHz, w.highHz, ch.off)
	ch.write(w, a, b)
	return nil
}

// chain is a resistor, a capacitor or an inductor, and resistors with a capacitor
// or an inductor across them, all in series.
type chain struct {
	inductive bool
	ohm       float64
	reactive  float64 // farad or henry; 0 for none
	cells     [][2]float64
	off       float64
}

// Poles lie evenly on a logarithmic scale, that many in a factor of ten, and beyond
// the ends of the range by so many factors of ten.
const (
	polesPerDecade = 6
	polesBeyond    = 2
)

// newChain fits the chain to an element.
func newChain(k *kind, values []float64, lowHz, highHz float64) *chain {
	ch := &chain{inductive: k.letter == 'K' || k.letter == 'S' || k.letter == 'E'}
	const perDecade = 24 // frequencies at which it is fitted
	n := int(math.Ceil(perDecade*math.Log10(highHz/lowHz))) + 2
	var omegas []float64
	var z []complex128
	for i := range n {
		w := 2 * math.Pi * lowHz * math.Pow(highHz/lowHz, float64(i)/float64(n-1))
		omegas, z = append(omegas, w), append(z, k.z(w, values, nil))
	}
	poles := chainPoles(lowHz, highHz)
	middle := 2 * math.Pi * math.Sqrt(lowHz*highHz)
	size := cmplx.Abs(k.z(middle, values, nil))
	x := nonNegative(ch.equations(omegas, z, poles, middle, size))
	ch.ohm = x[0] * size
	if x[1] > 0 {
		ch.reactive = 1 / (x[1] * size * middle)
		if ch.inductive {
			ch.reactive = x[1] * size / middle
		}
	}
	for i, p := range poles {
		r := x[2+i] * size
		if r <= 0 {
			continue
		}
		if ch.inductive {
			ch.cells = append(ch.cells, [2]float64{r, r / p})
		} else {
			ch.cells = append(ch.cells, [2]float64{r, 1 / (p * r)})
		}
	}
	for i, w := range omegas {
		ch.off = math.Max(ch.off, cmplx.Abs(ch.z(w)/z[i]-1))
	}
	return ch
}

func chainPoles(lowHz, highHz float64) []float64 {
	from, to := math.Log10(lowHz)-polesBeyond, math.Log10(highHz)+polesBeyond
	n := int(math.Ceil(polesPerDecade * (to - from)))
	var out []float64
	for i := range n + 1 {
		out = append(out, 2*math.Pi*math.Pow(10, from+(to-from)*float64(i)/float64(n)))
	}
	return out
}

// equations are real and imaginary part of the relative error at every frequency,
// in units of the impedance in the middle.
func (ch *chain) equations(omegas []float64, z []complex128, poles []float64, middle, size float64) (*mat.Dense, []float64) {
	m := len(omegas)
	a, b := mat.NewDense(2*m, 2+len(poles), nil), make([]float64, 2*m)
	put := func(i, j int, v complex128) {
		v *= complex(size, 0) / z[i]
		a.Set(2*i, j, real(v))
		a.Set(2*i+1, j, imag(v))
	}
	for i, w := range omegas {
		b[2*i] = 1
		put(i, 0, 1)
		if ch.inductive {
			put(i, 1, complex(0, w/middle))
		} else {
			put(i, 1, complex(0, -middle/w))
		}
		for k, p := range poles {
			if ch.inductive {
				put(i, 2+k, complex(0, w)/complex(p, w))
			} else {
				put(i, 2+k, complex(p, 0)/complex(p, w))
			}
		}
	}
	return a, b
}

// z is the impedance of the chain.
func (ch *chain) z(w float64) complex128 {
	z := complex(ch.ohm, 0)
	if ch.reactive > 0 && ch.inductive {
		z += complex(0, w*ch.reactive)
	} else if ch.reactive > 0 {
		z += complex(0, -1/(w*ch.reactive))
	}
	for _, c := range ch.cells {
		if ch.inductive {
			z += 1 / (complex(1/c[0], 0) + 1/complex(0, w*c[1]))
		} else {
			z += 1 / complex(1/c[0], w*c[1])
		}
	}
	return z
}

func (ch *chain) write(w *netlist, a, b string) {
	letter := byte('C')
	if ch.inductive {
		letter = 'L'
	}
	at := a
	links := len(ch.cells)
	step := func() (from, to string) {
		from, to = at, b
		if links--; links > 0 {
			to = w.fresh()
		}
		at = to
		return from, to
	}
	if ch.ohm > 0 {
		links++
	}
	if ch.reactive > 0 {
		links++
	}
	if ch.ohm > 0 {
		from, to := step()
		w.line('R', from, to, ch.ohm)
	}
	if ch.reactive > 0 {
		from, to := step()
		w.line(letter, from, to, ch.reactive)
	}
	for _, c := range ch.cells {
		from, to := step()
		w.line('R', from, to, c[0])
		w.line(letter, from, to, c[1])
	}
}

// apart is the largest relative difference between the circuit and its subcircuit.
func (c *Circuit) apart(w *netlist, lowHz, highHz float64) float64 {
	worst := 0.0
	const steps = 200
	for i := range steps + 1 {
		f := lowHz * math.Pow(highHz/lowHz, float64(i)/steps)
		z, stand := c.Impedance(f), c.root.standing(2*math.Pi*f, w.stands)
		worst = math.Max(worst, cmplx.Abs(stand/z-1))
	}
	return worst
}

// standing is the impedance with chains in place of elements.
func (n *node) standing(w float64, stands map[*node]*chain) complex128 {
	if ch := stands[n]; ch != nil {
		return ch.z(w)
	}
	var sum complex128
	switch n.join {
	case 0:
		return n.z(w, nil, nil)
	case '+':
		for _, p := range n.parts {
			sum += p.standing(w, stands)
		}
		return sum
	}
	for _, p := range n.parts {
		sum += 1 / p.standing(w, stands)
	}
	return 1 / sum
}
