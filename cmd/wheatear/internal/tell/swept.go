package tell

import (
	"math"
	"strings"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/result"
)

// sweptName names what was swept.
func sweptName(s *result.Swept) block.Text {
	switch {
	case s.Touchstone != nil:
		return block.Say("%v", *s.Touchstone)
	case s.Part != nil:
		return block.Say("%v", *s.Part)
	}
	return source(s.RestsOn)
}

// About names what was swept, and what that rests on.
func About(s *result.Swept) []block.Text { return []block.Text{sweptName(s), sweptBasis(s).Short} }

// sweptBasis is what a sweep rests on.
func sweptBasis(s *result.Swept) block.Provenance {
	if s.Touchstone != nil {
		return block.Provenance{Short: block.Say("a Touchstone file; uncertainty not known"),
			List: []block.Figure{{Key: "touchstone", Name: "Touchstone file", Value: block.Word(*s.Touchstone)}}}
	}
	jig := ""
	if s.Jig != nil {
		jig = *s.Jig
	}
	return provenance(jig, s.Calibration, s.RestsOn)
}

// sweptPoints says how many points there are, and from where to where; freqsHz are those
// that were used.
func sweptPoints(s *result.Swept, freqsHz []float64) block.Text {
	text := block.Count(s.Points, "point")
	if low, high := ends(freqsHz); low < high {
		text = block.Say("%v from %v to %v", text, block.PlaceHz(low), block.PlaceHz(high))
	}
	if s.Touchstone == nil {
		return text
	}
	text = block.Say("a Touchstone file: %v, uncertainty not known", text)
	if s.Left > 0 {
		text = block.Say("%v; %v left out: direct current, an open or no impedance at all", text, block.Count(s.Left, "point"))
	}
	return text
}

// ends are the lowest and the highest of some frequencies.
func ends(freqsHz []float64) (low, high float64) {
	low = math.Inf(1)
	for _, hz := range freqsHz {
		low, high = math.Min(low, hz), math.Max(high, hz)
	}
	return low, high
}

// sweptEnd is what a sweep was, at the end of what is made of it: readings, findings and
// what it rests on.
func sweptEnd(s *result.Swept) []block.Block {
	return append(fullReadings(s.Readings), Findings(s.Findings), sweptBasis(s))
}

// fullReadings are readings that others are made of, for where there is room.
func fullReadings(list []result.Reading) []block.Block {
	if len(list) == 0 {
		return nil
	}
	t := Readings(list)
	t.Title, t.Full = "Readings", true
	return []block.Block{t}
}

// capital begins a text with a large letter, and ends it without a stop.
func capital(text string) block.Text {
	text = strings.TrimSuffix(text, ".")
	for i := range text {
		if i > 0 {
			return block.Say("%v", strings.ToUpper(text[:i])+text[i:])
		}
	}
	return block.Say("%v", strings.ToUpper(text))
}
