package circuit

import (
	"strconv"
	"strings"

	"example.org/wheatear/lockin/parts"
)

// String writes the circuit in the notation that Parse reads, with no bracket more
// than needed. Parse gives back the same circuit.
func (c *Circuit) String() string {
	if c.root == nil {
		return "R 0"
	}
	var b strings.Builder
	c.write(&b, c.root, '+')
	return b.String()
}

// write writes a node inside one that joins its parts by join.
func (c *Circuit) write(b *strings.Builder, n *node, join byte) {
	if n.join == 0 {
		c.writeElement(b, n)
		return
	}
	brackets := n.join == '+' && join == '/'
	if brackets {
		b.WriteByte('(')
	}
	sign := map[byte]string{'+': " + ", '/': " // "}[n.join]
	for i, p := range n.parts {
		if i > 0 {
			b.WriteString(sign)
		}
		c.write(b, p, n.join)
	}
	if brackets {
		b.WriteByte(')')
	}
}

func (c *Circuit) writeElement(b *strings.Builder, n *node) {
	first := n.args[0]
	if first.slot >= 0 {
		b.WriteString(c.unknowns[first.slot].Name)
	} else {
		b.WriteByte(n.kind.letter)
		b.WriteByte(' ')
		b.WriteString(writeValue(first.known, n.kind.values[0].unit))
	}
	if len(n.args) > 1 && n.args[1].slot < 0 {
		b.WriteByte('^')
		b.WriteString(writeValue(n.args[1].known, n.kind.values[1].unit))
	}
}

// writeValue writes a value so that it reads back the same.
func writeValue(x float64, unit parts.Unit) string {
	text := parts.FormatValue(x, unit)
	if unit == parts.None || strings.Contains(text, "R") { // R 0.2, not R R2
		return strconv.FormatFloat(x, 'g', -1, 64)
	}
	return text
}
