package incircuit

import (
	"fmt"
	"strconv"
	"strings"

	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/uncertain"
)

// verdict compares the value with the nominal one.
func verdict(v uncertain.Quantity, q Question) string {
	if q.Nominal <= 0 || v.IsAbsent() {
		return ""
	}
	unit := map[impedance.Kind]string{impedance.Capacitor: "F", impedance.Inductor: "H", impedance.Resistor: "Ω"}[q.Kind]
	where := "the interval contains the nominal " + uncertain.Format(q.Nominal, 0, unit)
	switch {
	case v.High < q.Nominal:
		where = "below the nominal " + uncertain.Format(q.Nominal, 0, unit)
	case v.Low > q.Nominal:
		where = "above the nominal " + uncertain.Format(q.Nominal, 0, unit)
	}
	low, high := uncertain.Format(digits3(v.Low), 0, unit), uncertain.Format(digits3(v.High), 0, unit)
	number, prefix, _ := strings.Cut(low, " ")
	if strings.HasSuffix(high, " "+prefix) { // the same unit once
		low = number
	}
	return low + " to " + high + ": " + where
}

// listed names the branches that may be the part.
func (a *Answer) listed(q Question) string {
	unit := map[impedance.Kind]string{impedance.Capacitor: "F", impedance.Inductor: "H"}[q.Kind]
	var words []string
	for _, m := range a.Branches {
		words = append(words, uncertain.Format(digits3(m.Value.Value), 0, unit)+" with "+uncertain.Format(digits3(m.Series.Value), 0, "Ω")+" in series")
	}
	return fmt.Sprintf("%d branches fit the expected part and the answer spans them: %s", len(words), strings.Join(words, ", and "))
}

// digits3 keeps three digits.
func digits3(v float64) float64 {
	out, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 3, 64), 64)
	if err != nil {
		return v
	}
	return out
}

// words name the surroundings of a model.
func (m *Model) words() string {
	if !m.Leaks {
		return around(m.Around)
	}
	inside := "a leakage inside of the part"
	if m.net.kind == impedance.Inductor {
		inside = "a core loss inside of the part"
	}
	if m.Around == Nothing {
		return inside
	}
	return around(m.Around) + " and " + inside
}

// around names surroundings in words.
func around(f Family) string {
	if f == Nothing {
		return "nothing"
	}
	words := map[string]string{"R": "a resistor", "C": "a capacitor", "RC": "a resistor with a capacitor in series", "RL": "a resistor with an inductor in series"}
	var out []string
	for _, part := range strings.Split(string(f), "+") {
		out = append(out, words[part])
	}
	return strings.Join(out, " and ")
}
