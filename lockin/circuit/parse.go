package circuit

import (
	"errors"
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"example.org/wheatear/lockin/parts"
)

// Limits of what is read: brackets within each other, elements of a circuit.
const (
	maxDepth    = 100
	maxElements = 200
)

// SyntaxError says where and why a circuit was not understood.
type SyntaxError struct {
	Text   string // what was parsed
	Column int    // the character at fault, counted from 1; one past the end where something is missing
	Reason string // what is wrong and what to write instead
}

// Error names the text, the character and the reason.
func (e *SyntaxError) Error() string {
	return fmt.Sprintf("circuit: %q, character %d: %s", e.Text, e.Column, e.Reason)
}

// Parse reads the notation of circuits (see the package comment). Errors are
// *SyntaxError.
func Parse(text string) (*Circuit, error) {
	p := &parser{text: text, slots: map[string]int{}}
	p.space()
	root, err := p.series()
	if err == nil && p.rest() != "" {
		err = p.leftOver()
	}
	if err != nil {
		return nil, err
	}
	return &Circuit{root: root, unknowns: p.unknowns, nodes: p.nodes}, nil
}

type parser struct {
	text     string
	at       int // byte
	depth    int
	elements int
	nodes    int
	slots    map[string]int
	unknowns []Unknown
}

func (p *parser) rest() string { return p.text[p.at:] }

func (p *parser) space() {
	p.at = len(p.text) - len(strings.TrimLeftFunc(p.rest(), unicode.IsSpace))
}

// take skips a symbol and the space behind it, if it is the next.
func (p *parser) take(symbol string) bool {
	if !strings.HasPrefix(p.rest(), symbol) {
		return false
	}
	p.at += len(symbol)
	p.space()
	return true
}

// fail makes an error at a byte of the text.
func (p *parser) fail(at int, format string, args ...any) error {
	return &SyntaxError{p.text, utf8.RuneCountInString(p.text[:at]) + 1, fmt.Sprintf(format, args...)}
}

func (p *parser) leftOver() error {
	switch r, _ := utf8.DecodeRuneInString(p.rest()); {
	case r == ')':
		return p.fail(p.at, "this bracket was never opened")
	case r == '/':
		return p.fail(p.at, "parallel is written //")
	default:
		return p.fail(p.at, "%q is left over; join elements with + (series) or // (parallel)", p.rest())
	}
}

func (p *parser) series() (*node, error) { return p.list('+', "+", p.parallel) }

func (p *parser) parallel() (*node, error) { return p.list('/', "//", p.single) }

// list reads one or more of what next reads, joined by symbol.
func (p *parser) list(join byte, symbol string, next func() (*node, error)) (*node, error) {
	first, err := next()
	if err != nil {
		return nil, err
	}
	all := &node{join: join}
	all.add(first)
	for p.take(symbol) {
		more, err := next()
		if err != nil {
			return nil, err
		}
		all.add(more)
	}
	if len(all.parts) == 1 || first.join == join && len(all.parts) == len(first.parts) {
		return first, nil
	}
	p.number(all)
	return all, nil
}

// add joins a part; one that is joined the same way needs no brackets of its own.
func (n *node) add(part *node) {
	if part.join == n.join {
		n.parts = append(n.parts, part.parts...)
		return
	}
	n.parts = append(n.parts, part)
}

func (p *parser) number(n *node) {
	n.id = p.nodes
	p.nodes++
}

// single reads an element or a group in brackets.
func (p *parser) single() (*node, error) {
	open := p.at
	if !p.take("(") {
		return p.element()
	}
	if p.depth++; p.depth > maxDepth {
		return nil, p.fail(open, "more than %d brackets within each other", maxDepth)
	}
	n, err := p.series()
	if err != nil {
		return nil, err
	}
	if !p.take(")") {
		if p.rest() != "" {
			return nil, p.leftOver()
		}
		return nil, p.fail(p.at, "the bracket opened at character %d is not closed", utf8.RuneCountInString(p.text[:open])+1)
	}
	p.depth--
	return n, nil
}

// element reads a letter with a value or a name.
func (p *parser) element() (*node, error) {
	start := p.at
	if p.rest() == "" {
		return nil, p.fail(start, "an element is missing, such as R 4k7")
	}
	k, ok := kindOf(p.rest()[0])
	if !ok {
		return nil, p.fail(start, "an element begins with R, C or L (or Q, W, K, S, E, T), as in R 4k7")
	}
	if p.elements++; p.elements > maxElements {
		return nil, p.fail(start, "more than %d elements", maxElements)
	}
	p.at++
	n := &node{kind: k}
	p.number(n)
	return n, p.fillElement(n, start)
}

// fillElement reads what follows the letter.
func (p *parser) fillElement(n *node, start int) error {
	attached := p.word()
	if isName(attached) {
		p.at += len(attached)
		return p.unknown(n, p.text[start:p.at])
	}
	if digits := strings.Trim(attached, "0123456789") == ""; digits && attached != "" {
		return p.fail(start, "%c%s can be a name or a value; write %c %s for the value, or a name such as %ca",
			n.kind.letter, attached, n.kind.letter, attached, n.kind.letter)
	}
	p.space()
	if p.word() == "" {
		return p.unknown(n, p.text[start:start+1])
	}
	for i, v := range n.kind.values {
		if i > 0 && !p.take("^") {
			return p.fail(p.at, "%c has two values, written %s", n.kind.letter, example(n.kind.letter))
		}
		x, err := p.value(v)
		if err != nil {
			return err
		}
		n.args = append(n.args, arg{known: x, slot: -1})
	}
	return p.noMoreValues(n)
}

func (p *parser) noMoreValues(n *node) error {
	if strings.HasPrefix(p.rest(), "^") {
		return p.fail(p.at, "%c has no value behind ^", n.kind.letter)
	}
	return nil
}

// example shows how an element with two values is written.
func example(letter byte) string {
	return map[byte]string{'Q': "Q 1u^0.9", 'K': "K 0.03^0.7", 'S': "S 50m^17k", 'E': "E 10m^5k", 'T': "T 47u^2.5"}[letter]
}

// isName says whether text behind a letter makes it a name: it begins with a letter,
// or is one digit.
func isName(text string) bool {
	for i, r := range text {
		if !unicode.IsLetter(r) && r != '_' && (i == 0 || r < '0' || r > '9') {
			return len(text) == 1 && r >= '0' && r <= '9'
		}
	}
	return text != ""
}

// unknown fills an element with unknowns of a name; an exponent may be known.
func (p *parser) unknown(n *node, name string) error {
	p.space()
	for i, v := range n.kind.values {
		if i > 0 && p.take("^") {
			x, err := p.value(v)
			if err != nil {
				return err
			}
			n.args = append(n.args, arg{known: x, slot: -1})
			continue
		}
		n.args = append(n.args, arg{slot: p.slot(name+v.suffix, n.kind.letter, v)})
	}
	return p.noMoreValues(n)
}

// slot returns the place of an unknown, a new one for a new name.
func (p *parser) slot(name string, letter byte, v value) int {
	if s, ok := p.slots[name]; ok {
		return s
	}
	s := len(p.unknowns)
	p.slots[name] = s
	p.unknowns = append(p.unknowns, Unknown{Name: name, Unit: v.symbol, element: letter, scale: v.scale})
	return s
}

// value reads one value and the space behind it.
func (p *parser) value(v value) (float64, error) {
	text := p.word()
	if text == "" {
		return 0, p.fail(p.at, "a value is missing, such as 4k7")
	}
	x, err := parts.ParseValue(text, v.unit)
	if err != nil {
		at := 1
		reason := err.Error()
		if syntax := (*parts.SyntaxError)(nil); errors.As(err, &syntax) {
			at, reason = syntax.Column, syntax.Reason
		}
		return 0, p.fail(p.at+byteOf(text, at), "%s", reason)
	}
	if v.scale == exponent && x > 1 {
		return 0, p.fail(p.at, "an exponent lies between 0 and 1")
	}
	p.at += len(text)
	p.space()
	return x, nil
}

// byteOf returns the byte at which a character, counted from 1, begins.
func byteOf(text string, column int) int {
	for i := range text {
		if column--; column <= 0 {
			return i
		}
	}
	return len(text)
}

// word returns the text up to the next sign of the notation. A plus sign belongs to
// the value in 1e+3.
func (p *parser) word() string {
	text := p.rest()
	end := strings.IndexFunc(text, func(r rune) bool { return unicode.IsSpace(r) || strings.ContainsRune("+/()^", r) })
	if end < 0 {
		return text
	}
	if isPower(text[:end]) && text[end] == '+' {
		rest := text[end+1:]
		digits := len(rest) - len(strings.TrimLeft(rest, "0123456789"))
		if digits > 0 {
			end += 1 + digits
		}
	}
	return text[:end]
}

// isPower says whether text is a number up to the e of its exponent.
func isPower(text string) bool {
	body, ok := strings.CutSuffix(strings.ToLower(text), "e")
	return ok && body != "" && strings.Trim(body, "0123456789.,") == ""
}
