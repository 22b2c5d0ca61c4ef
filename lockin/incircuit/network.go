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
	extra    bool // the part has its smaller element, too
	around   []Family
	unknowns []unknown
}

// What bounds the unknowns, beside what the sweep can feel: common practice, no source.
const (
	feel        = 1e4  // a value that far from what is seen decides nothing
	corner      = 1.5  // of a branch, beyond the ends of the sweep
	leadHenry   = 1e-6 // most inductance of a capacitor or a resistor
	windingFrac = 3    // the winding resonates above the sweep by no more than that
)

// newNetwork makes the network for a sweep.
func newNetwork(kind impedance.Kind, extra bool, around []Family, s sweepSpan) *network {
	n := &network{kind: kind, extra: extra, around: around}
	w := math.Sqrt(s.wLow * s.wHigh)
	add := func(name string, unit parts.Unit, low, high float64) {
		n.unknowns = append(n.unknowns, unknown{name, unit, math.Log(low), math.Log(high)})
	}
	ohm := func(name string) { add(name, parts.Ohm, s.zLow/feel, s.zHigh*feel) }
	switch kind {
	case impedance.Capacitor:
		add("C", parts.Farad, 1/(s.wHigh*s.zHigh*feel), feel/(s.wLow*s.zLow))
		ohm("Rs")
		if extra {
			add("Ls", parts.Henry, s.zLow/feel/w, math.Max(leadHenry, 10*s.zLow/feel/w))
		}
	case impedance.Inductor:
		add("L", parts.Henry, s.zLow/feel/s.wHigh, s.zHigh*feel/s.wLow)
		ohm("Rs")
		if extra {
			add("Cp", parts.Farad, 1/(s.wHigh*s.zHigh*feel), feel/(s.wLow*s.zLow))
		}
	default:
		ohm("R")
		if extra {
			add("Ls", parts.Henry, s.zLow/feel/w, math.Max(leadHenry, 10*s.zLow/feel/w))
		}
	}
	for i, f := range around {
		at := func(letter string) string { return fmt.Sprintf("%s%d", letter, i+1) }
		if f == C {
			add(at("C"), parts.Farad, 1/(s.wHigh*s.zHigh*feel), feel/(s.wLow*s.zLow))
			continue
		}
		ohm(at("R"))
		if f != R {
			add(at("f"), parts.Hertz, s.wLow/(2*math.Pi)/corner, s.wHigh/(2*math.Pi)*corner)
		}
	}
	return n
}

// part is the impedance of the part alone.
func (n *network) part(w float64, x []float64) complex128 {
	main, second := math.Exp(x[0]), 0.0
	if len(x) > 1 {
		second = math.Exp(x[1])
	}
	switch n.kind {
	case impedance.Capacitor:
		z := complex(second, -1/(w*main))
		if n.extra {
			z += complex(0, w*math.Exp(x[2]))
		}
		return z
	case impedance.Inductor:
		z := complex(second, w*main)
		if n.extra {
			z = 1 / (1/z + complex(0, w*math.Exp(x[2])))
		}
		return z
	}
	if n.extra {
		return complex(main, w*second)
	}
	return complex(main, 0)
}

// own counts the unknowns of the part.
func (n *network) own() int {
	switch {
	case n.kind == impedance.Resistor && !n.extra:
		return 1
	case n.kind == impedance.Resistor || !n.extra:
		return 2
	}
	return 3
}

// z is the impedance of the whole.
func (n *network) z(w float64, x []float64) complex128 {
	y := 1 / n.part(w, x)
	k := n.own()
	for _, f := range n.around {
		if f == C {
			y += complex(0, w*math.Exp(x[k]))
			k++
			continue
		}
		r := math.Exp(x[k])
		k++
		if f == R {
			y += complex(1/r, 0)
			continue
		}
		ratio := w / (2 * math.Pi * math.Exp(x[k]))
		k++
		g := 1 / (r * (1 + ratio*ratio))
		if f == RC { // R + 1/(jωC) with the corner at f = 1/(2πRC)
			y += complex(g*ratio*ratio, g*ratio)
		} else { // R + jωL with the corner at f = R/(2πL)
			y += complex(g, -g*ratio)
		}
	}
	return 1 / y
}

// circuit writes the network with its values.
func (n *network) circuit(x []float64) string {
	value := func(k int) string { return notation(math.Exp(x[k])) }
	var words []string
	switch n.kind {
	case impedance.Capacitor:
		words = append(words, "(C "+value(0)+" + R "+value(1)+")")
	case impedance.Inductor:
		words = append(words, "(L "+value(0)+" + R "+value(1)+")")
	default:
		words = append(words, "R "+value(0))
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

// swap exchanges the capacitor with the capacitor of a branch: seen from outside,
// two resistors with capacitors are alike (but for the smaller element of the part,
// which stays where it is). ok is false where there is no such branch.
func (n *network) swap(x []float64) (out []float64, ok bool) {
	if n.kind == impedance.Resistor {
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
