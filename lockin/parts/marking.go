package parts

import "strings"

// Code says how a value was written.
type Code string

// The codes. Source: IEC 60062:2016 with Amendment 1:2019.
const (
	LetterCode    Code = "letter and digits"    // clause 4: 4K7, 4n7
	DigitCode     Code = "figures and exponent" // 472, 4992
	E96Code       Code = "three characters"     // Annex A: 66B
	TwoCode       Code = "two characters"       // Annex B: A5
	ColourCode    Code = "colour bands"         // clause 3
	PlainCode     Code = "plain figures"        // 47: common practice, no source
	WrittenNumber Code = "written out"          // 4.7 kΩ: a value, no marking
)

// Marking is one reading of what is marked on a part.
type Marking struct {
	Text      string // as marked
	Unit      Unit   // Ohm, Farad or Henry: it says what kind of part it is
	Value     float64
	Tolerance Tolerance
	TempcoPPM float64 // temperature coefficient, ±ppm per kelvin; 0 where not marked
	Code      Code
	Notes     []string // what a person should know of this reading

	rank int // plausibility among the readings of one text, lowest first
}

// IsLink reports whether it is a link, a resistor of nothing.
func (m Marking) IsLink() bool { return m.Unit == Ohm && m.Value == 0 }

// Kind returns what the part is: resistor, capacitor, inductor.
func (m Marking) Kind() string { return m.Unit.part() }

func (u Unit) part() string {
	switch u {
	case Ohm:
		return "resistor"
	case Farad:
		return "capacitor"
	case Henry:
		return "inductor"
	}
	return "part"
}

// Limits returns the limits of the value, NaN where no tolerance is marked.
func (m Marking) Limits() Limits { return m.Tolerance.Of(m.Value) }

// String says a marking in words: "4n7K: 4.7 nF, 10 %".
func (m Marking) String() string {
	if m.IsLink() {
		return m.Text + ": link, 0 Ω"
	}
	words := []string{Words(m.Value, m.Unit)}
	if m.Tolerance.Given() {
		words = append(words, m.Tolerance.String())
	}
	if m.TempcoPPM != 0 {
		words = append(words, Words(m.TempcoPPM, None)+" ppm/K")
	}
	return m.Text + ": " + strings.Join(words, ", ")
}

func (m *Marking) note(text string) { m.Notes = append(m.Notes, text) }

// withTolerance reads the tolerance letter and adds what is to be known of it.
func (m Marking) withTolerance(letter rune) (Marking, bool) {
	t, ok := ToleranceOf(letter, m.Value, m.Unit)
	m.Tolerance = t
	m.Notes = append([]string(nil), m.Notes...)
	switch {
	case letter == 'A':
		m.note("tolerance A is by agreement: see the data sheet")
	case letter == 'P' && m.Unit == Farad:
		m.note("P meant -0/+100 % in older trade")
	}
	return m, ok
}
