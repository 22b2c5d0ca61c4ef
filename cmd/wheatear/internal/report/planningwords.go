package report

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/predict"
	"example.org/wheatear/lockin/uncertain"
)

func (p *Planning) words(c predict.Choice) result.ChoiceWords {
	return result.ChoiceWords{
		Reference: loose(uncertain.Format(c.ReferenceOhm, 0, "Ω")),
		Frequency: loose(hertz(c)),
		Level:     minus(loose(playedAt(c.Peak))),
		Record:    loose(fmt.Sprintf("%.3g s", c.Seconds)),
		HalfWidth: loose(halfText(c.Half)),
		Why:       loose(p.why(c)),
		AtPart:    loose(minus(playedAt(c.Peak)) + strings.TrimPrefix(p.level(c), playedAt(c.Peak))),
		ReadAs:    loose(p.circuit(c)),
		Verdict:   loose(p.verdict(c)),
	}
}

// loose has no blanks that hold a value and its unit together: whoever shows the text
// breaks it as there is room.
func loose(text string) string { return tight.Replace(text) }

// why says who means the frequency for the part.
func (p *Planning) why(c predict.Choice) string {
	if text := strings.TrimPrefix(p.standard(c), ", "); text != "" {
		return text
	}
	return "as asked for"
}

// verdict says whether what is wanted is reached, and if not, how near it comes.
func (p *Planning) verdict(c predict.Choice) string {
	switch want := p.Plan.Wish.Want; {
	case math.IsInf(c.Half, 0):
		return "No reading: the part is out of reach of this reference"
	case want == 0 && p.Plan.Longer != nil && c.ReferenceOhm == p.Plan.Choices[0].ReferenceOhm && c.FreqHz == p.Plan.Choices[0].FreqHz:
		return fmt.Sprintf("%s; a record of %.3g s would bring %s, more gains little", halfText(c.Half), p.Plan.Longer.Seconds, halfText(p.Plan.Longer.Half))
	case want == 0:
		return halfText(c.Half)
	case c.Reached:
		return fmt.Sprintf("%s is reached", wish(want))
	default:
		return fmt.Sprintf("%s is not reached, however long the record", wish(want))
	}
}

// wish writes what is wanted.
func wish(want float64) string { return "± " + strconv.FormatFloat(100*want, 'g', 3, 64) + " %" }

// remedy says what a change would bring.
func (p *Planning) remedy(r predict.Remedy) string {
	c := r.Choice
	record := fmt.Sprintf("%s with %.3g s", halfText(c.Half), c.Seconds)
	ohm, hz := uncertain.Format(c.ReferenceOhm, 0, "Ω"), hertz(c)
	switch r.Change {
	case predict.OtherReference:
		return "a reference of " + ohm + ": " + record
	case predict.OtherFrequency:
		return "at " + hz + ": " + record
	case predict.BetterLoad:
		return "calibrated with " + loadText(*r.Load) + ": " + record
	}
	text := "together, a reference of " + ohm + " at " + hz
	if r.Load != nil {
		text += " and " + loadText(*r.Load)
	}
	return text + ": " + record
}

func loadText(l fixture.Load) string {
	return fmt.Sprintf("a load of %s known to %.3g %%", uncertain.Format(l.Ohm, 0, "Ω"), 100*l.Tolerance)
}

// asked is a frequency as it would be asked for.
func asked(c predict.Choice) string {
	if c.MovedFromHz != 0 {
		return "~" + strconv.FormatFloat(c.MovedFromHz, 'g', 10, 64)
	}
	return strconv.FormatFloat(c.FreqHz, 'g', 10, 64)
}

// played is a level as it would be asked for.
func played(c predict.Choice) string {
	return strconv.FormatFloat(math.Round(200*math.Log10(c.Peak))/10, 'f', -1, 64) + "dBFS"
}

// changes are what is to be done to the jig and its file before a choice can be used.
func (p *Planning) changes(c predict.Choice) []string {
	var out []string
	const same = 0.01 // a resistor that was measured is the one in the drawer still
	if math.Abs(c.ReferenceOhm/p.Jig.ReferenceOhm-1) > same {
		ohm := parts.FormatValue(c.ReferenceOhm, parts.None)
		out = append(out, fmt.Sprintf("The reference is %s now: put %s in its place, write reference = %q and its reference_tolerance into the jig file, and calibrate anew.",
			loose(uncertain.Format(p.Jig.ReferenceOhm, 0, "Ω")), loose(uncertain.Format(c.ReferenceOhm, 0, "Ω")), ohm))
	}
	if c.Seconds != p.Setup.Card.Seconds {
		out = append(out, fmt.Sprintf("Records are %.3g s long now: write seconds = %g under [card] in the jig file.", p.Setup.Card.Seconds, c.Seconds))
	}
	return out
}
