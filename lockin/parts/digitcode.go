package parts

import (
	"strings"
)

// digitCode reads figures with an exponent of ten behind them, and an optional
// tolerance letter: 472, 4992, 104K.
//
// Capacitors count in pF, where exponents 8 and 9 mean 10⁻² and 10⁻¹; inductors
// in µH, resistors in ohm. A letter on a resistor is its multiplier first.
// Source: IEC 60062:2016, clause 4; capacitor exponents and inductors from memory.
func digitCode(d *decoder) ([]Marking, error) {
	start := d.pos
	figures := d.digits()
	rest := []rune(d.rest())
	if figures == "" || len(rest) > 1 {
		return nil, nil
	}
	if strings.Trim(figures, "0") == "" && d.unit == Ohm && len(rest) == 0 {
		return d.link(figures, start)
	}
	if len(rest) == 1 && (len(figures) < 3 || len(d.fitting(rest[0])) > 0 && d.unit == Ohm) {
		return nil, nil
	}
	if len(figures) < 3 {
		return nil, nil
	}
	if err := d.checkDigits(figures, start); err != nil {
		return nil, err
	}
	m := d.marking(DigitCode, decimal(figures[:len(figures)-1], d.exponentOf(figures)))
	d.pos = start + len(figures)
	m, err := d.finish(m, string(rest))
	if err != nil {
		return nil, err
	}
	return []Marking{m}, nil
}

// link is a resistor of nothing: 0, 00, 000 or 0000.
func (d *decoder) link(zeros string, start int) ([]Marking, error) {
	if len(zeros) > 4 {
		d.pos = start + 4
		return nil, d.errorf("a link is marked with up to four zeros")
	}
	return []Marking{d.marking(DigitCode, 0)}, nil
}

// checkDigits refuses what the code does not have.
func (d *decoder) checkDigits(figures string, start int) error {
	last := figures[len(figures)-1]
	switch {
	case len(figures) > 4:
		d.pos = start + 4
		return d.errorf("%d figures: codes of figures and exponent have three or four", len(figures))
	case figures[0] == '0':
		d.pos = start
		return d.errorf("a leading zero: the figures before the exponent begin with 1 to 9")
	case d.unit == Henry && last >= '8':
		d.pos = start + len(figures) - 1
		return d.errorf("10^%c µH is no coil: below 10 µH R is the decimal mark, as in 4R7", last)
	}
	return nil
}

// exponentOf returns the decimal exponent of the last figure before the exponent,
// in SI units.
func (d *decoder) exponentOf(figures string) int {
	e := int(figures[len(figures)-1] - '0')
	if d.unit == Farad && e >= 8 {
		e -= 10
	}
	return e + baseExponent(d.unit)
}

// baseExponent is the unit that codes of figures count in: pF, µH, Ω.
func baseExponent(unit Unit) int {
	return map[Unit]int{Farad: -12, Henry: -6}[unit]
}
