package parts_test

import (
	"fmt"
	"strconv"
	"strings"
	"testing"

	"example.org/wheatear/lockin/parts"
)

// All places of E96 and all its multipliers, all letters of the two characters.
func TestShortCodes(t *testing.T) {
	for i, m := range parts.E96.Members() {
		for letters, exponent := range map[string]int{"Z": -3, "YR": -2, "XS": -1, "A": 0, "BH": 1, "C": 2, "D": 3, "E": 4, "F": 5} {
			for _, letter := range letters {
				code := fmt.Sprintf("%02d%c", i+1, letter)
				want, _ := strconv.ParseFloat(fmt.Sprintf("%.0fe%d", 100*m, exponent), 64)
				got, err := parts.Decode(code, parts.Ohm)
				if err != nil || got[len(got)-1].Value != want || got[len(got)-1].Code != parts.E96Code {
					t.Errorf("%s: %v, %v; want %g", code, got, err, want)
				}
			}
		}
	}
	for _, pair := range strings.Fields(twoCharacters) {
		letter, figures, _ := strings.Cut(pair, "=")
		for digit := range 10 {
			exponent := digit
			if digit == 9 {
				exponent = -1
			}
			want, _ := strconv.ParseFloat(fmt.Sprintf("%se%d", figures, exponent-12), 64)
			got, err := parts.Decode(fmt.Sprint(letter, digit), parts.Farad)
			if err != nil || got[len(got)-1].Value != want || got[len(got)-1].Code != parts.TwoCode {
				t.Errorf("%s%d: %v, %v; want %g", letter, digit, got, err, want)
			}
		}
	}
}
