package report

import (
	"fmt"
	"io"
	"math"
	"strconv"

	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/parts"
)

// verdicts writes what the readings were judged to be, a paragraph each.
func (m *Measurement) verdicts(w io.Writer) {
	for i, r := range m.Readings {
		if r.Judgement == nil {
			continue
		}
		if i == 0 {
			fmt.Fprintln(w)
		}
		at := ""
		if len(m.Readings) > 1 {
			at = " " + Tie("at "+nominal(r.NominalHz))
		}
		Wrap(w, "  ", Tie(string(r.Judgement.Outcome))+at+": "+judged(r.Judgement))
	}
}

// judged says what was held against what, and the risk.
func judged(j *fixture.Judgement) string {
	unit := j.Expected.Unit
	what := Tie(expectation(j.Expected)) + " " + Tie("("+rough3(j.Limits.Low, unit)+" to "+rough3(j.Limits.High, unit)+")")
	if math.IsNaN(j.Conformance) {
		return what + "; there is no reading to judge"
	}
	text := what + ", judged by its " + Tie(elementName(j.Element)) + "; it conforms with a probability of " + Tie(chance(j.Conformance))
	switch {
	case j.Outcome == parts.Pass:
		return text + ", and the risk of accepting a bad part is " + Tie(chance(j.Risk))
	case j.Outcome == parts.Fail:
		return text + ", and the risk of rejecting a good part is " + Tie(chance(j.Risk))
	case !math.IsNaN(j.EnoughU):
		return text + "; a standard uncertainty of " + Tie(rough(j.EnoughU, unit.String())) + " would decide"
	}
	return text
}

// expectation is the part in words, without its marking.
func expectation(m parts.Marking) string {
	return parts.Words(m.Value, m.Unit) + ", " + m.Tolerance.String()
}

// Expectation is the same in short, as a run of parts is called in its file.
func Expectation(m parts.Marking) string {
	return parts.Words(m.Value, m.Unit) + "/" + m.Tolerance.String()
}

// elementName says which element of a reading it is.
func elementName(e impedance.Element) string {
	letter := map[impedance.Kind]string{impedance.Resistor: "R", impedance.Capacitor: "C", impedance.Inductor: "L"}[e.Kind]
	return string(e.Circuit) + " " + letter
}

// chance writes a probability in per cent, with no more digits than 10,000 draws
// tell, and none of certainty.
func chance(p float64) string {
	switch {
	case p < 0.001:
		return "less than 0.1 %"
	case p > 0.999:
		return "more than 99.9 %"
	}
	return strconv.FormatFloat(100*p, 'f', 1, 64) + " %"
}

// rough3 writes a limit: a number that was computed from a nominal value, to six
// digits at the most.
func rough3(v float64, unit parts.Unit) string {
	six, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 6, 64), 64)
	if err != nil {
		return "—"
	}
	return parts.Words(six, unit)
}

// verdictDoc is the verdict on a reading, for programs.
type verdictDoc struct {
	Outcome     parts.Outcome `json:"outcome"`
	Expected    string        `json:"expected"`
	Quantity    string        `json:"quantity"` // the key of the equivalent
	Circuit     string        `json:"circuit"`
	Low         *float64      `json:"limit_low"`
	High        *float64      `json:"limit_high"`
	Conformance *float64      `json:"conformance_probability"`
	Risk        *float64      `json:"risk"`
	AcceptLow   *float64      `json:"acceptance_low"`
	AcceptHigh  *float64      `json:"acceptance_high"`
	Capability  *float64      `json:"capability_index"`
	EnoughU     *float64      `json:"u_to_decide"`
}

func (r *Reading) verdict() *verdictDoc {
	j := r.Judgement
	if j == nil {
		return nil
	}
	key := map[impedance.Kind]string{impedance.Resistor: "r_ohm", impedance.Capacitor: "c_f", impedance.Inductor: "l_h"}[j.Element.Kind]
	d := &verdictDoc{Outcome: j.Outcome, Expected: j.Expected.Text, Quantity: key, Circuit: string(j.Element.Circuit)}
	if math.IsNaN(j.Conformance) {
		return d
	}
	d.Low, d.High = orNull(j.Limits.Low), orNull(j.Limits.High)
	d.Conformance, d.Risk = orNull(j.Conformance), orNull(j.Risk)
	d.AcceptLow, d.AcceptHigh = orNull(j.Acceptance.Low), orNull(j.Acceptance.High)
	d.Capability, d.EnoughU = orNull(j.Capability), orNull(j.EnoughU)
	return d
}
