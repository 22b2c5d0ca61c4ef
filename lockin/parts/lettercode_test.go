package parts_test

import (
	"fmt"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"example.org/wheatear/lockin/parts"
)

// Any figures about any multiplier, with any tolerance, against the rule written
// down once more: the letter is the decimal mark. Source: IEC 60062:2016, clause 4.
func TestLetterCodesFollowTheRule(t *testing.T) {
	multipliers := map[parts.Unit]map[string]int{
		parts.Ohm:   {"L": -3, "R": 0, "K": 3, "M": 6, "G": 9, "T": 12, "r": 0, "k": 3, "g": 9},
		parts.Farad: {"p": -12, "n": -9, "u": -6, "µ": -6, "μ": -6, "m": -3},
		parts.Henry: {"n": -9, "u": -6, "m": -3},
	}
	rapid.Check(t, func(t *rapid.T) {
		unit := rapid.SampledFrom([]parts.Unit{parts.Ohm, parts.Farad, parts.Henry}).Draw(t, "unit")
		var letters []string
		for _, l := range strings.Split("LRKMGTrkgpnuµμm", "") {
			if _, ok := multipliers[unit][l]; ok {
				letters = append(letters, l)
			}
		}
		letter := rapid.SampledFrom(letters).Draw(t, "letter")
		whole := rapid.StringMatching(`[1-9][0-9]{0,2}`).Draw(t, "whole")
		frac := rapid.StringMatching(`[0-9]{1,3}`).Draw(t, "frac")
		tolerance := rapid.SampledFrom([]string{"", "J", "K", "M", "Z"}).Draw(t, "tolerance")
		text := whole + letter + frac + tolerance
		want, _ := strconv.ParseFloat(fmt.Sprintf("%s.%se%d", whole, frac, multipliers[unit][letter]), 64)
		got, err := parts.Decode(text, unit)
		if err != nil || len(got) != 1 || got[0].Value != want || got[0].Tolerance.Letter != tolerance {
			t.Fatalf("%s as %s: %+v, %v; want %g", text, unit, got, err, want)
		}
		plain, err := parts.ParseValue(whole+letter+frac, unit)
		if letter == "L" || letter == "g" || letter == "r" {
			return // not in values
		}
		if err != nil || plain != want {
			t.Fatalf("as a value %s is %g, %v; want %g", whole+letter+frac, plain, err, want)
		}
	})
}

// Unknown kinds: a marking is read for all that it may be, and each of these is
// what it is read as when the kind is known.
func TestUnknownKindIsAllKinds(t *testing.T) {
	texts := []string{"472", "4n7K", "4K7", "10R", "A5", "n1", "47K", "104M", "R47", "4m7", "66B", "22uH", "100nF", "0", "5"}
	for _, text := range texts {
		all, err := parts.Decode(text, parts.None)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range all {
			known, err := parts.Decode(text, m.Unit)
			found := false
			for _, k := range known {
				found = found || k.Value == m.Value && k.Tolerance == m.Tolerance && k.Code == m.Code
			}
			if err != nil || !found {
				t.Errorf("%s as %s: %v, %v; want %v among them", text, m.Unit, known, err, m)
			}
		}
	}
}

// Case is kept for capacitors, and forgiven for resistors but for m.
func TestCase(t *testing.T) {
	for _, c := range []struct {
		text string
		unit parts.Unit
		good bool
	}{
		{"4k7j", parts.Ohm, true}, {"4r7", parts.Ohm, true}, {"4l7", parts.Ohm, true}, {"1g0", parts.Ohm, true}, {"1t0K", parts.Ohm, true}, {"1t0k", parts.Ohm, false}, {"4k7k", parts.Ohm, false}, {"4K7h", parts.Ohm, false},
		{"4N7", parts.Farad, false}, {"4P7", parts.Farad, false}, {"4U7", parts.Farad, false}, {"4M7", parts.Farad, false}, {"4f7", parts.Farad, false},
		{"4n7j", parts.Farad, false}, {"4N7", parts.Henry, true}, {"4r7", parts.Henry, false}, {"66b", parts.Ohm, false}, {"s3", parts.Farad, false},
	} {
		if got, err := parts.Decode(c.text, c.unit); (err == nil) != c.good {
			t.Errorf("%s as %s: %v, %v", c.text, c.unit, got, err)
		}
	}
}
