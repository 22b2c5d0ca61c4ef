package virtual

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// circuit is a two-terminal network: one element, or others in series or in
// parallel. A circuit without parts in series is a wire, in parallel nothing.
type circuit struct {
	kind  byte // 'R', 'C' or 'L'; '+' in series, '/' in parallel
	value float64
	parts []*circuit
}

// maxDepth limits nested brackets, maxElements the size of a circuit: the modes
// of the network are found in a time that grows with its third power.
const (
	maxDepth    = 100
	maxElements = 200
)

// parseCircuit reads the notation of circuits: an element is a letter and a
// value, + is series, // is parallel and binds tighter, brackets group. An empty
// text is an open circuit.
func parseCircuit(text string) (*circuit, error) {
	p := &circuitParser{text: text}
	if p.space(); p.rest() == "" {
		return &circuit{kind: '/'}, nil
	}
	c, err := p.series()
	if err == nil && p.rest() != "" {
		err = p.errorf("%q is left over; parts are joined by + or //", p.rest())
	}
	if err != nil {
		return nil, err
	}
	return c, nil
}

type circuitParser struct {
	text     string
	at       int
	depth    int
	elements int
}

func (p *circuitParser) rest() string { return p.text[p.at:] }

func (p *circuitParser) space() {
	p.at = len(p.text) - len(strings.TrimLeftFunc(p.rest(), unicode.IsSpace))
}

// take skips a symbol and the space behind it, if it is the next.
func (p *circuitParser) take(symbol string) bool {
	if !strings.HasPrefix(p.rest(), symbol) {
		return false
	}
	p.at += len(symbol)
	p.space()
	return true
}

func (p *circuitParser) errorf(format string, args ...any) error {
	return fmt.Errorf("circuit %q, place %d: %s", p.text, utf8.RuneCountInString(p.text[:p.at])+1, fmt.Sprintf(format, args...))
}

func (p *circuitParser) series() (*circuit, error) { return p.list('+', "+", p.parallel) }

func (p *circuitParser) parallel() (*circuit, error) { return p.list('/', "//", p.single) }

// list reads one or more of what next reads, joined by symbol.
func (p *circuitParser) list(kind byte, symbol string, next func() (*circuit, error)) (*circuit, error) {
	first, err := next()
	if err != nil {
		return nil, err
	}
	all := &circuit{kind: kind, parts: []*circuit{first}}
	for p.take(symbol) {
		more, err := next()
		if err != nil {
			return nil, err
		}
		all.parts = append(all.parts, more)
	}
	if len(all.parts) == 1 {
		return first, nil
	}
	return all, nil
}

// single reads an element or a group in brackets.
func (p *circuitParser) single() (*circuit, error) {
	if !p.take("(") {
		return p.element()
	}
	if p.depth++; p.depth > maxDepth {
		return nil, p.errorf("more than %d brackets within each other", maxDepth)
	}
	c, err := p.series()
	if err != nil {
		return nil, err
	}
	if !p.take(")") {
		return nil, p.errorf("a bracket is not closed")
	}
	p.depth--
	return c, nil
}

// element reads a letter and its value.
func (p *circuitParser) element() (*circuit, error) {
	if p.rest() == "" {
		return nil, p.errorf("an element is missing at the end")
	}
	kind := p.rest()[0]
	if kind != 'R' && kind != 'C' && kind != 'L' {
		return nil, p.errorf("an element begins with R, C or L, as in R 4k7")
	}
	p.take(string(kind))
	if p.elements++; p.elements > maxElements {
		return nil, p.errorf("more than %d elements", maxElements)
	}
	text := p.rest()
	if end := strings.IndexFunc(text, p.ends); end >= 0 {
		text = text[:end]
	}
	text = p.exponent(text)
	value, err := parseValue(text, kind)
	if err != nil {
		return nil, p.errorf("%v", err)
	}
	p.at += len(text)
	p.space()
	return &circuit{kind: kind, value: value}, nil
}

// ends says whether a value stops before r.
func (p *circuitParser) ends(r rune) bool {
	return unicode.IsSpace(r) || strings.ContainsRune("+/()", r)
}

// exponent adds to a value that ends in "e" what belongs to it in 1e+3.
func (p *circuitParser) exponent(text string) string {
	rest := p.rest()[len(text):]
	if !strings.HasSuffix(strings.ToLower(text), "e") || !strings.HasPrefix(rest, "+") {
		return text
	}
	digits := len(rest) - len(strings.TrimLeft(rest[1:], "0123456789"))
	return text + rest[:digits]
}
