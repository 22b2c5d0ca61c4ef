package incircuit

import (
	"slices"
	"strings"

	"example.org/wheatear/lockin/internal/errkind"
)

// Family is a kind of surroundings in parallel with the part.
type Family string

// The families. Pairs are written with a plus: R+RC.
const (
	Nothing Family = ""
	R       Family = "R"
	C       Family = "C"  // another capacitor
	RC      Family = "RC" // a resistor and a capacitor in series
	RL      Family = "RL" // a resistor and an inductor in series
)

// defaultFamilies are assumed where none are named.
func defaultFamilies() []Family { return []Family{R, C, RC, RL} }

// ParseFamilies reads a list such as R,RC,RL.
func ParseFamilies(text string) ([]Family, error) {
	var out []Family
	for _, word := range strings.Split(text, ",") {
		f := Family(strings.ToUpper(strings.TrimSpace(word)))
		if !slices.Contains([]Family{R, C, RC, RL}, f) {
			return nil, errkind.Errorf(ErrQuestion, "incircuit: %q is no family of surroundings: R, C, RC or RL, with commas between them", word)
		}
		if !slices.Contains(out, f) {
			out = append(out, f)
		}
	}
	return out, nil
}

// branches lists what families put in parallel: nothing, each of them, and each two
// different ones, of which a resistor beside a capacitor is the commonest.
func branches(families []Family) [][]Family {
	out := [][]Family{nil}
	for _, f := range families {
		out = append(out, []Family{f})
	}
	for i, f := range families {
		for _, g := range families[i+1:] {
			out = append(out, []Family{f, g})
		}
	}
	return out
}

// name writes several families as one.
func name(families []Family) Family {
	var words []string
	for _, f := range families {
		words = append(words, string(f))
	}
	return Family(strings.Join(words, "+"))
}
