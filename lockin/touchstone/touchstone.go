// Package touchstone reads and writes impedances of one port as Touchstone files of
// version 1, which circuit simulators take.
//
// Source: Touchstone File Format Specification, Rev. 1.1 (EIA/IBIS Open Forum,
// 2002). That Z and Y are normalised by the resistance of the option line is from
// memory.
package touchstone

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"math/cmplx"
	"strconv"
	"strings"

	"example.org/wheatear/lockin/internal/errkind"
)

// Network is a one-port over frequency.
type Network struct {
	FreqHz   []float64 // rising
	Ohm      []complex128
	Comments []string // without the exclamation mark
}

// LineError says where a file is wrong.
type LineError struct {
	File string
	Line int // from 1
	Err  error
}

// Error names file and line.
func (e *LineError) Error() string {
	return fmt.Sprintf("touchstone: %s, line %d: %v", e.File, e.Line, e.Err)
}

// Unwrap returns what is wrong.
func (e *LineError) Unwrap() error { return e.Err }

// Form is how impedances are written.
type Form uint8

// The forms.
const (
	// Scattering is S re 50 ohm, S = (Z - 50)/(Z + 50), which every reader takes.
	Scattering Form = iota
	// Ohms is Z with R 1: plain ohms, whether or not a reader knows that Z is
	// normalised. Not every reader takes it.
	Ohms
)

// refOhm is what S is related to: the default of the format.
const refOhm = 50

// Write writes real and imaginary part over hertz, in all their digits: reading the
// file gives Z within 1e-15·|Z|/50 or 1e-15·50/|Z|, relative, whichever is more, as
// Scattering, and Z itself as Ohms.
//
// Errors: no writer or network, another form, lists of different lengths, frequencies that do not rise, values that are not
// finite or have no S (which is -50 ohm), and those of the writer.
func Write(w io.Writer, n *Network, form Form) error {
	switch {
	case w == nil || n == nil:
		return errkind.Errorf(ErrEmpty, "touchstone: Write needs a writer and a network")
	case form != Scattering && form != Ohms:
		return fmt.Errorf("touchstone: form %d is neither Scattering nor Ohms", form)
	case len(n.FreqHz) != len(n.Ohm):
		return fmt.Errorf("touchstone: %d frequencies and %d impedances", len(n.FreqHz), len(n.Ohm))
	}
	var b bytes.Buffer
	for _, c := range n.Comments {
		for _, line := range strings.Split(c, "\n") {
			fmt.Fprintf(&b, "! %s\n", ascii(line))
		}
	}
	head := "# Hz S RI R 50\n"
	if form == Ohms {
		head = "# Hz Z RI R 1\n"
	}
	b.WriteString(head)
	for i, f := range n.FreqHz {
		v := n.Ohm[i]
		if form == Scattering {
			v = (v - refOhm) / (v + refOhm)
		}
		switch {
		case !(f >= 0) || math.IsInf(f, 0) || i > 0 && f <= n.FreqHz[i-1]:
			return fmt.Errorf("touchstone: the frequencies do not rise at %g Hz", f)
		case cmplx.IsNaN(v) || cmplx.IsInf(v):
			return fmt.Errorf("touchstone: no finite number for %v ohm at %g Hz", n.Ohm[i], f)
		}
		fmt.Fprintf(&b, "%s %s %s\n", number(f), number(real(v)), number(imag(v)))
	}
	_, err := w.Write(b.Bytes())
	return err
}

func number(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }

// ascii replaces what the format does not hold.
func ascii(text string) string {
	replaced := strings.NewReplacer("Ω", "ohm", "µ", "u", "±", "+-", "−", "-").Replace(text)
	return strings.Map(func(r rune) rune {
		if r < 32 || r > 126 {
			return '?'
		}
		return r
	}, replaced)
}

// Errors of Read; they come in a *LineError.
var (
	ErrVersion = errors.New("a file of version 2 is not read: save it as version 1")
	ErrPorts   = errors.New("want a frequency and one pair of numbers: this is no file of one port")
	ErrOrder   = errors.New("the frequencies do not rise")
	ErrOption  = errors.New("the option line is not understood: write # Hz Z RI R 1, or likewise")
	ErrNumber  = errors.New("not a number")
	ErrEmpty   = errors.New("no frequency in the file")
)

// option is the option line.
type option struct {
	scale     float64 // to hertz
	parameter byte    // S, Y or Z
	format    string  // ma, db, ri
	ohm       float64
}

// byteOrder is what some editors put before a text.
const byteOrder = "\ufeff"

// Read reads a file of one port. The name is used in errors only. A point that is
// an open has an infinite impedance. What writers in the field do is taken: small
// letters, tabs, lines that end in CR LF, R50 in one word, and 1.5D3 for 1500.
func Read(name string, r io.Reader) (*Network, error) {
	if r == nil {
		return nil, errkind.Errorf(ErrEmpty, "touchstone: %s: Read needs a reader", name)
	}
	n, opt := &Network{}, option{1e9, 'S', "ma", 50}
	seen := false
	lines := bufio.NewScanner(r)
	lines.Buffer(nil, 1<<20)
	for line := 1; lines.Scan(); line++ {
		text, comment, has := strings.Cut(strings.TrimPrefix(lines.Text(), byteOrder), "!")
		if has {
			n.Comments = append(n.Comments, strings.TrimSpace(comment))
		}
		text = strings.TrimSpace(text)
		var err error
		switch {
		case text == "":
		case text[0] == '[':
			err = ErrVersion
		case text[0] == '#':
			if !seen { // later ones are ignored
				opt, err = parseOption(text[1:], opt)
			}
			seen = true
		default:
			err = n.add(text, opt)
		}
		if err != nil {
			return nil, &LineError{name, line, err}
		}
	}
	if err := lines.Err(); err != nil {
		return nil, fmt.Errorf("touchstone: %s: %w", name, err)
	}
	if len(n.FreqHz) == 0 {
		return nil, &LineError{name, 1, ErrEmpty}
	}
	return n, nil
}

// parseOption reads the option line; what is left out keeps its default.
func parseOption(text string, opt option) (option, error) {
	words := strings.Fields(strings.ToLower(text))
	for i := 0; i < len(words); i++ {
		switch w := words[i]; w {
		case "hz", "khz", "mhz", "ghz":
			opt.scale = map[string]float64{"hz": 1, "khz": 1e3, "mhz": 1e6, "ghz": 1e9}[w]
		case "s", "y", "z":
			opt.parameter = w[0] - 'a' + 'A'
		case "ma", "db", "ri":
			opt.format = w
		case "r":
			i++
			if i == len(words) {
				return opt, ErrOption
			}
			v, err := strconv.ParseFloat(words[i], 64)
			if err != nil || !(v >= 1/most && v <= most) {
				return opt, ErrOption
			}
			opt.ohm = v
		default:
			ohm, one := strings.CutPrefix(w, "r")
			v, err := strconv.ParseFloat(ohm, 64)
			if !one || err != nil || !(v >= 1/most && v <= most) {
				return opt, fmt.Errorf("%w (%q)", ErrOption, w)
			}
			opt.ohm = v
		}
	}
	return opt, nil
}

// add reads a line of numbers.
func (n *Network) add(text string, opt option) error {
	words := strings.Fields(text)
	if len(words) != 3 {
		return ErrPorts
	}
	var v [3]float64
	for i, w := range words {
		x, err := strconv.ParseFloat(fortran.Replace(w), 64)
		if err != nil || math.IsNaN(x) || math.IsInf(x, 0) || strings.ContainsAny(w, "xX_") {
			return fmt.Errorf("%q: %w", w, ErrNumber)
		}
		if math.Abs(x) > most || opt.format == "db" && i == 1 && x > mostDB {
			return fmt.Errorf("%q: %w that can be used: beyond 1e30", w, ErrNumber)
		}
		v[i] = x
	}
	f := v[0] * opt.scale
	if f < 0 || math.IsInf(f, 0) || len(n.FreqHz) > 0 && f <= n.FreqHz[len(n.FreqHz)-1] {
		return ErrOrder
	}
	z := opt.ohms(opt.pair(v[1], v[2]))
	if cmplx.Abs(z) > most && !cmplx.IsInf(z) || f > most {
		return fmt.Errorf("%q: frequency or impedance is %w that can be used: beyond 1e30", text, ErrNumber)
	}
	n.FreqHz = append(n.FreqHz, f)
	n.Ohm = append(n.Ohm, z)
	return nil
}

// Figures beyond these are no impedances, and their squares leave the range of a float64.
const (
	most   = 1e30
	mostDB = 600
)

// fortran is the other letter of an exponent.
var fortran = strings.NewReplacer("D", "e", "d", "e")

// pair is a complex number from two.
func (o option) pair(a, b float64) complex128 {
	switch o.format {
	case "ri":
		return complex(a, b)
	case "db":
		a = math.Pow(10, a/20)
	}
	sin, cos := math.Sincos(b * math.Pi / 180)
	return complex(a*cos, a*sin)
}

// ohms undoes the normalisation.
func (o option) ohms(v complex128) complex128 {
	r := complex(o.ohm, 0)
	switch o.parameter {
	case 'Z':
		return v * r
	case 'Y':
		if v == 0 {
			return cmplx.Inf()
		}
		return r / v
	}
	if v == 1 {
		return cmplx.Inf()
	}
	return r * (1 + v) / (1 - v)
}
