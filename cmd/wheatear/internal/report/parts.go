package report

import (
	"bytes"
	"fmt"
	"io"
	"strings"

	"example.org/wheatear/lockin/parts"
)

// Parts is what the command parts has to tell.
type Parts struct {
	Text     string
	Type     parts.Type // empty where it was not said
	Readings []parts.Marking
}

// typeOf is the type of a reading: as said, or else the general one.
func (p *Parts) typeOf(m parts.Marking) parts.Type {
	if p.Type != "" {
		return p.Type
	}
	return parts.TypeOf(m.Unit)
}

// ExplainParts writes readings of a marking for people: the likeliest in full, the
// others in words.
func ExplainParts(w io.Writer, p *Parts) error {
	var b bytes.Buffer
	first := p.Readings[0]
	several := len(p.Readings) > 1
	for i, m := range p.Readings {
		line := m.String()
		if several {
			line += " (" + m.Kind() + ", " + string(m.Code) + ")"
		}
		if i > 0 {
			line = "or " + line
		}
		Wrap(&b, "", line)
		for _, note := range m.Notes {
			Wrap(&b, "  note: ", note)
		}
	}
	if otherKinds(p.Readings) {
		Wrap(&b, "", "Say what it is, such as --kind "+first.Kind()+", for limits, preferred values and test conditions.")
	} else if !first.IsLink() {
		fmt.Fprintln(&b)
		p.details(&b, first)
	}
	_, err := w.Write(b.Bytes())
	return err
}

// otherKinds reports whether readings are of different kinds of part.
func otherKinds(list []parts.Marking) bool {
	for _, m := range list {
		if m.Unit != list[0].Unit {
			return true
		}
	}
	return false
}

// details writes limits, preferred values and test conditions.
func (p *Parts) details(w io.Writer, m parts.Marking) {
	line := func(name, text string) { Wrap(w, "  "+padRight(name, 10), text) }
	line("kind", m.Kind()+", "+string(m.Code))
	if l := m.Limits(); l.Valid() {
		line("limits", Tie(rough3(l.Low, m.Unit))+" to "+Tie(rough3(l.High, m.Unit)))
	}
	if code, err := parts.Encode(m.Value, m.Unit, m.Tolerance); err == nil && code != m.Text {
		line("code", code)
	}
	if series := parts.SeriesOf(m.Value); len(series) > 0 {
		line("preferred", "in "+seriesNames(series))
	} else {
		line("preferred", "in no series; nearest: "+nearest(m))
	}
	conditions, err := parts.Conditions(p.typeOf(m), m.Value)
	for i, c := range conditions {
		if err == nil {
			name := ""
			if i == 0 {
				name = "measure"
			}
			line(name, condition(c, m.Value))
		}
	}
}

func seriesNames(list []parts.Series) string {
	var names []string
	for _, s := range list {
		names = append(names, s.String())
	}
	return strings.Join(names, " ")
}

// nearest lists the nearest values of the series in use.
func nearest(m parts.Marking) string {
	var list []string
	for _, s := range []parts.Series{parts.E6, parts.E12, parts.E24, parts.E96} {
		list = append(list, Tie(s.String()+" "+parts.Words(s.Nearest(m.Value), m.Unit)))
	}
	return strings.Join(list, ", ")
}

// condition writes one test condition as a sentence.
func condition(c parts.Condition, value float64) string {
	var list []string
	var freqs []string
	for _, f := range c.FreqsHz {
		freqs = append(freqs, Tie(frequencyWords(f)))
	}
	add := func(text string) {
		if text != "" {
			list = append(list, text)
		}
	}
	add(strings.Join(freqs, " or "))
	add(c.Level)
	if c.Bias != "" {
		add("bias " + c.Bias)
	}
	add(c.Limit)
	if d, ok := c.LargestD(value); ok {
		add(fmt.Sprintf("here D at most %.3g", d))
	}
	source := c.Standard + ", " + c.Source
	if c.Standard == "none" {
		source = c.Source
	}
	text := strings.Join(list, "; ") + " [" + source + "]"
	if beyond := c.Beyond(parts.CardLowHz, parts.CardHighHz); beyond != "" {
		text += " → " + beyond
	}
	return text
}

func frequencyWords(freqHz float64) string {
	if freqHz == 0 {
		return "direct current"
	}
	return nominal(freqHz)
}
