package tell

import (
	"slices"
	"strings"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/result"
)

// Parts tells the readings of a marking: one in full, of several what each is.
func Parts(p *result.Parts) []block.Block {
	if len(p.Readings) == 0 {
		return []block.Block{block.Headline{Title: block.Say("%v: no such marking is known", p.Text)}}
	}
	first := &p.Readings[0]
	var lines []block.Text
	several := len(p.Readings) > 1
	sure := true
	for i, m := range p.Readings {
		text := block.Say("%v", m.Words)
		if several {
			text = block.Say("%v (%v, %v)", text, m.Kind, string(m.Code))
		}
		if i > 0 {
			text = block.Say("or %v", text)
		}
		lines = append(lines, text)
		for _, note := range m.Notes {
			lines = append(lines, block.Say("note: %v", note))
		}
		sure = sure && m.Kind == first.Kind
	}
	out := []block.Block{block.Headline{Title: lines[0], Notes: lines[1:]}}
	switch {
	case !sure:
		return append(out, block.Advice{Text: []block.Text{block.Say("Add the kind, such as --kind %v, for limits, preferred values and test conditions", first.Kind)}})
	case first.Link:
		return out
	}
	return append(out, markingFigures(first, p.Text))
}

// markingFigures are limits, preferred values and test conditions.
func markingFigures(m *result.Marking, marked string) block.Figures {
	var out block.Figures
	add := func(key, name string, v block.Value) {
		out.List = append(out.List, block.Figure{Key: key, Name: name, Value: v})
	}
	_, unit := m.Value()
	add("kind", "kind", block.Word(m.Kind+", "+string(m.Code)))
	if l := m.Limits; l != nil {
		add("limits", "limits", block.Value{Text: block.Say("%v to %v", block.Number(l.Low, unit, 6), block.Number(l.High, unit, 6))})
	}
	if m.RKM != nil && *m.RKM != marked {
		add("code", "code", block.Word(*m.RKM))
	}
	if len(m.Series) > 0 {
		add("preferred", "preferred", block.Word("in "+strings.Join(m.Series, " ")))
	} else {
		var near []block.Text
		for _, n := range m.Nearest {
			if slices.Contains([]string{"E6", "E12", "E24", "E96"}, n.Series) {
				near = append(near, block.Say("%v\u00a0%v", n.Series, block.Number(n.Value, unit, 6)))
			}
		}
		add("preferred", "preferred", block.Value{Text: block.Say("in no series; nearest: %v", block.Join(near, ", "))})
	}
	name := "measure"
	for _, c := range m.Conditions {
		add("measure", name, block.Value{Text: condition(c)})
		name = ""
	}
	return out
}

// condition is a test condition in a sentence.
func condition(c result.Condition) block.Text {
	var freqs []block.Text
	for _, hz := range c.FreqsHz {
		if hz == 0 {
			freqs = append(freqs, block.Say("DC"))
		} else {
			freqs = append(freqs, block.Say("%v", block.Hz(hz)))
		}
	}
	list := []block.Text{block.Join(freqs, " or ")}
	bias := c.Bias
	if bias != "" {
		bias = "bias " + bias
	}
	for _, words := range []string{c.Level, bias, c.Limit} {
		list = append(list, block.Say("%v", words))
	}
	if c.LargestD != nil {
		list = append(list, block.Say("here D at most %v", block.Number(*c.LargestD, "", 3)))
	}
	list = slices.DeleteFunc(list, func(t block.Text) bool { return len(t) == 0 })
	source := c.Source
	if c.Standard != "none" {
		source = c.Standard + ", " + c.Source
	}
	text := block.Say("%v [%v]", block.Join(list, "; "), source)
	if c.Beyond != nil {
		text = block.Say("%v → %v", text, *c.Beyond)
	}
	return text
}

// Tray tells what can be put into the simulated jig.
func Tray(t *result.Tray) []block.Block {
	var out block.Figures
	for _, p := range t.Parts {
		about := block.Say("%v", p.Circuit)
		switch {
		case p.Circuit == "" && p.Note == "":
			about = block.Say("described by elements of its own")
		case p.Circuit == "":
			about = block.Say("%v", p.Note)
		case p.Note != "":
			about = block.Say("%v – %v", about, p.Note)
		}
		out.List = append(out.List, block.Figure{Key: p.Name, Name: p.Name, Value: block.Value{Text: about}})
	}
	return []block.Block{out}
}
