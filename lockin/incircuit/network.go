package incircuit

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/parts"
)

// unknown is one number that is sought, as a logarithm.
type unknown struct {
	name      string
	unit      parts.Unit
	low, high float64 // logarithms
}

// network is a part with surroundings in parallel.
type network struct {
	kind     impedance.Kind
	leaks    bool // the part has a resistor across its capacitance or inductance
	extra    bool // the part has its smaller element, too
	around   []Family
	unknowns []unknown
}

// What bounds the unknowns, beside what the sweep can feel: common practice, no source.
const (
	feel      = 1e4  // a value that far from what is seen decides nothing
	corner    = 1e3  // of a branch, beyond the ends of the sweep
	leadHenry = 1e-6 // most inductance of a capacitor or a resistor
)

// newNetwork makes the network for a sweep.
func newNetwork(kind impedance.Kind, leaks, extra bool, around []Family, s sweepSpan) *network {
	n := &network{kind: kind, leaks: leaks && kind != impedance.Resistor, extra: extra, around: around}
	w := math.Sqrt(s.wLow * s.wHigh)
	add := func(name string, unit parts.Unit, low, high float64) {
		n.unknowns = append(n.unknowns, unknown{name, unit, math.Log(low), math.Log(high)})
	}
	ohm := func(name string) { add(name, parts.Ohm, s.zLow/feel, s.zHigh*feel) }
	farad := func(name string) { add(name, parts.Farad, 1/(s.wHigh*s.zHigh*feel), feel/(s.wLow*s.zLow)) }
	lead := func() { add("Ls", parts.Henry, s.zLow/feel/w, math.Max(leadHenry, 10*s.zLow/feel/w)) }
	switch kind {
	case impedance.Capacitor:
		farad("C")
		ohm("Rs")
	case impedance.Inductor:
		add("L", parts.Henry, s.zLow/feel/s.wHigh, s.zHigh*feel/s.wLow)
		ohm("Rs")
	default:
		ohm("R")
	}
	if n.leaks {
		ohm("Rp")
	}
	switch {
	case extra && kind == impedance.Inductor:
		farad("Cp")
	case extra:
		lead()
	}
	for i, f := range around {
		at := func(letter string) string { return fmt.Sprintf("%s%d", letter, i+1) }
		if f == C {
			farad(at("C"))
			continue
		}
		ohm(at("R"))
		if f != R {
			add(at("f"), parts.Hertz, s.wLow/(2*math.Pi)/corner, s.wHigh/(2*math.Pi)*corner)
		}
	}
	return n
}

// inverse is 1/z, without the care that a division of complex numbers takes.
func inverse(z complex128) complex128 {
	re, im := real(z), imag(z)
	d := 1 / (re*re + im*im)
	return complex(re*d, -im*d)
}

// part is the impedance of the part alone, for the values v of the unknowns.
func (n *network) part(w float64, v []float64) complex128 {
	main := v[0]
	if n.kind == impedance.Resistor {
		if n.extra {
			return complex(main, w*v[1])
		}
		return complex(main, 0)
	}
	z := complex(0, w*main)
	if n.kind == impedance.Capacitor {
		z = complex(0, -1/(w*main))
	}
	k := 2
	if n.leaks {
		z = inverse(inverse(z) + complex(1/v[k], 0))
		k++
	}
	z += complex(v[1], 0)
	switch {
	case n.extra && n.kind == impedance.Capacitor:
		z += complex(0, w*v[k])
	case n.extra:
		z = inverse(inverse(z) + complex(0, w*v[k]))
	}
	return z
}

// branches counts what lies beside the part, or within.
func (n *network) branches() int {
	if n.leaks {
		return len(n.around) + 1
	}
	return len(n.around)
}

// own counts the unknowns of the part.
func (n *network) own() int {
	count := 1
	for _, more := range []bool{n.kind != impedance.Resistor, n.leaks, n.extra} {
		if more {
			count++
		}
	}
	return count
}

// z is the impedance of the whole.
func (n *network) z(w float64, v []float64) complex128 {
	y := inverse(n.part(w, v))
	k := n.own()
	for _, f := range n.around {
		switch f {
		case C:
			y += complex(0, w*v[k])
			k++
		case R:
			y += complex(1/v[k], 0)
			k++
		default:
			ratio := w / (2 * math.Pi * v[k+1])
			g := 1 / (v[k] * (1 + ratio*ratio))
			if f == RC { // R + 1/(jωC) with the corner at f = 1/(2πRC)
				y += complex(g*ratio*ratio, g*ratio)
			} else { // R + jωL with the corner at f = R/(2πL)
				y += complex(g, -g*ratio)
			}
			k += 2
		}
	}
	return inverse(y)
}

// values are those of logarithms.
func values(x []float64) []float64 {
	v := make([]float64, len(x))
	for k := range v {
		v[k] = math.Exp(x[k])
	}
	return v
}

// circuit writes the network with its values.
func (n *network) circuit(x []float64) string {
	value := func(k int) string { return notation(math.Exp(x[k])) }
	var words []string
	letter := map[impedance.Kind]string{impedance.Capacitor: "C ", impedance.Inductor: "L "}[n.kind]
	switch {
	case n.kind == impedance.Resistor:
		words = append(words, "R "+value(0))
	case n.leaks:
		words = append(words, "(R "+value(1)+" + "+letter+value(0)+" // R "+value(2)+")")
	default:
		words = append(words, "("+letter+value(0)+" + R "+value(1)+")")
	}
	k := n.own()
	for _, f := range n.around {
		switch f {
		case C:
			words = append(words, "C "+value(k))
			k++
		case R:
			words = append(words, "R "+value(k))
			k++
		default:
			r, hz := math.Exp(x[k]), math.Exp(x[k+1])
			second := "C " + notation(1/(2*math.Pi*hz*r))
			if f == RL {
				second = "L " + notation(r/(2*math.Pi*hz))
			}
			words = append(words, "(R "+value(k)+" + "+second+")")
			k += 2
		}
	}
	return strings.Join(words, " // ")
}

// notation writes a value with three digits, as circuits are written: an
// illustration, not a result.
func notation(v float64) string {
	const prefixes = "fpnum kMGT"
	power := int(math.Floor(math.Log10(v)/3 + 1e-9))
	power = max(-5, min(power, 4))
	text := strconv.FormatFloat(v/math.Pow(1000, float64(power)), 'g', 3, 64)
	if strings.Contains(text, "e") { // 999.6 is 1e+03 in three digits
		text = strconv.FormatFloat(v/math.Pow(1000, float64(power)), 'f', 0, 64)
	}
	return strings.TrimSpace(text + prefixes[power+5:power+6])
}

// swap exchanges the part with a branch of its kind: seen from outside, two resistors
// with capacitors are alike, but for the smaller element of the part, which stays where
// it is. ok is false where there is no such branch.
func (n *network) swap(x []float64) (out []float64, ok bool) {
	if n.kind == impedance.Resistor || n.leaks {
		return nil, false
	}
	twin := RC
	if n.kind == impedance.Inductor {
		twin = RL
	}
	k := n.own()
	for _, f := range n.around {
		if f == twin {
			out = append([]float64(nil), x...)
			r, hz := math.Exp(x[k]), math.Exp(x[k+1])
			main := 1 / (2 * math.Pi * hz * r)
			own := 1 / (2 * math.Pi * math.Exp(x[0]) * math.Exp(x[1]))
			if twin == RL {
				main, own = r/(2*math.Pi*hz), math.Exp(x[1])/(2*math.Pi*math.Exp(x[0]))
			}
			out[0], out[1], out[k], out[k+1] = math.Log(main), x[k], x[1], math.Log(own)
			return out, true
		}
		if f == R || f == C {
			k++
		} else {
			k += 2
		}
	}
	return nil, false
}
