package parts

import (
	"fmt"
	"strings"
)

// band is what a colour means in each place; a NaN-free table, with -1 and 0 for
// what it does not mean.
type band struct {
	names     []string
	figure    int     // −1: none
	exponent  int     // multiplier; noMultiplierBand: none
	tolerance rune    // letter of the same tolerance; 0: none
	tempco    float64 // ±ppm/K; 0: none
}

const noMultiplierBand = -99

// bands of resistors. Source: IEC 60062:2016, clause 3.
func bands() []band {
	return []band{
		{[]string{"pink"}, -1, -3, 0, 0},
		{[]string{"silver"}, -1, -2, 'K', 0},
		{[]string{"gold"}, -1, -1, 'J', 0},
		{[]string{"black"}, 0, 0, 0, 250},
		{[]string{"brown"}, 1, 1, 'F', 100},
		{[]string{"red"}, 2, 2, 'G', 50},
		{[]string{"orange"}, 3, 3, 'W', 15},
		{[]string{"yellow"}, 4, 4, 'P', 25},
		{[]string{"green"}, 5, 5, 'D', 20},
		{[]string{"blue"}, 6, 6, 'C', 10},
		{[]string{"violet", "purple"}, 7, 7, 'B', 5},
		{[]string{"grey", "gray"}, 8, 8, 'L', 1},
		{[]string{"white"}, 9, 9, 0, 0},
		{[]string{"none"}, -1, noMultiplierBand, 'M', 0},
	}
}

// colours is one resistor, band by band.
type colours struct {
	text    string
	names   []string
	columns []int // where each name begins, counted from 1
}

// splitColours parts a text at spaces, commas, hyphens and slashes.
func splitColours(text string) colours {
	c := colours{text: text}
	word, column := "", 0
	for i, r := range []rune(text + " ") {
		if !strings.ContainsRune(spaces+",-/", r) {
			if word == "" {
				column = i + 1
			}
			word += string(r)
			continue
		}
		if word != "" {
			c.names, c.columns = append(c.names, strings.ToLower(word)), append(c.columns, column)
		}
		word = ""
	}
	return c
}

// isBands reports whether a text speaks of colours at all.
func isBands(text string) bool {
	for _, name := range splitColours(text).names {
		if _, ok := findBand(name); ok {
			return true
		}
	}
	return false
}

func findBand(name string) (band, bool) {
	for _, b := range bands() {
		for _, n := range b.names {
			if n == name {
				return b, true
			}
		}
	}
	return band{}, false
}

func (c colours) errorf(i int, format string, args ...any) error {
	column := len([]rune(c.text)) + 1
	if i < len(c.columns) {
		column = c.columns[i]
	}
	return &SyntaxError{Text: c.text, Column: column, Reason: fmt.Sprintf(format, args...)}
}

// mostBanded is more than resistors with bands have (common practice, no source).
const mostBanded = 1e9

// bandReadings reads the bands in the order given and, where that makes a
// preferred value too, from the other end.
func bandReadings(text string, unit Unit) ([]Marking, error) {
	c := splitColours(text)
	if unit != Ohm && unit != None {
		return nil, c.errorf(0, "colour bands are read on resistors only")
	}
	found, err := c.list()
	if err != nil {
		return nil, err
	}
	m, err := c.read(found)
	if err != nil {
		return nil, c.orReversed(found, err)
	}
	out := []Marking{m}
	if r, err := c.reversed().read(reversed(found)); err == nil && len(found) > 3 && r.Value != m.Value && r.Value < mostBanded && len(SeriesOf(r.Value)) > 0 {
		r.rank = 1
		r.note("read from the other end: the tolerance band is the one set apart")
		out = append(out, r)
	}
	return out, nil
}

// list looks up every colour.
func (c colours) list() ([]band, error) {
	var out []band
	for i, name := range c.names {
		b, ok := findBand(name)
		if !ok {
			return nil, c.errorf(i, "%q is no colour of a band: they are pink, silver, gold, black, brown, red, orange, yellow, green, blue, violet, grey, white", shorten(name))
		}
		out = append(out, b)
	}
	return out, nil
}

// orReversed adds to an error that the bands make sense from the other end.
func (c colours) orReversed(found []band, err error) error {
	e, ok := err.(*SyntaxError)
	if r, other := c.reversed().read(reversed(found)); ok && other == nil {
		return &SyntaxError{Text: e.Text, Column: e.Column, Reason: e.Reason + "; from the other end it is " + Words(r.Value, Ohm)}
	}
	return err
}

func reversed(list []band) []band {
	out := make([]band, 0, len(list))
	for i := len(list) - 1; i >= 0; i-- {
		out = append(out, list[i])
	}
	return out
}

func (c colours) reversed() colours {
	r := colours{text: c.text}
	for i := len(c.names) - 1; i >= 0; i-- {
		r.names, r.columns = append(r.names, c.names[i]), append(r.columns, c.columns[i])
	}
	return r
}

// read puts the bands together: one for a link, else figures, multiplier,
// tolerance from the fourth on, temperature coefficient the sixth.
func (c colours) read(list []band) (Marking, error) {
	m := Marking{Text: strings.Trim(c.text, spaces), Unit: Ohm, Code: ColourCode}
	n := len(list)
	switch {
	case n == 1 && list[0].figure == 0:
		return m, nil
	case n == 1:
		return m, c.errorf(1, "one %s band: there are three to six, or a single black one on a link", c.names[0])
	case n < 3:
		return m, c.errorf(n, "%d bands: there are three to six, or a single black one on a link", n)
	case n > 6:
		return m, c.errorf(6, "%d bands: there are three to six", n)
	}
	figures := 2
	if n > 4 {
		figures = 3
	}
	if err := c.value(&m, list, figures); err != nil {
		return m, err
	}
	return m, c.extras(&m, list, figures)
}

// value reads figures and multiplier.
func (c colours) value(m *Marking, list []band, figures int) error {
	digits := ""
	for i, b := range list[:figures] {
		if b.figure < 0 {
			return c.errorf(i, "%s is no figure: it does not come in place %d of %d", c.names[i], i+1, len(list))
		}
		digits += string(rune('0' + b.figure))
	}
	if strings.Trim(digits, "0") == "" {
		return c.errorf(0, "a value of nothing: a link has one black band")
	}
	if list[figures].exponent == noMultiplierBand {
		return c.errorf(figures, "%s is no multiplier", c.names[figures])
	}
	m.Value = decimal(digits, list[figures].exponent)
	return nil
}

// extras reads what comes behind the multiplier.
func (c colours) extras(m *Marking, list []band, figures int) error {
	m.Tolerance, _ = ToleranceOf('M', m.Value, Ohm) // three bands
	if at := figures + 1; at < len(list) {
		b := list[at]
		if b.tolerance == 0 {
			return c.errorf(at, "%s is no tolerance", c.names[at])
		}
		m.Tolerance, _ = ToleranceOf(b.tolerance, m.Value, Ohm)
		if b.figure == 8 {
			m.note("grey is 0.01 % since 2016; on older parts it is 0.05 %")
		}
	}
	if at := figures + 2; at < len(list) {
		if list[at].tempco == 0 {
			return c.errorf(at, "%s is no temperature coefficient", c.names[at])
		}
		m.TempcoPPM = list[at].tempco
	}
	return nil
}
