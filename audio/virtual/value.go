package virtual

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"
)

// prefixes are the decimal multipliers, as exponents of ten: a value is then read
// at once and rounded once. M is mega and m is milli.
var prefixes = map[rune]string{
	'f': "e-15", 'p': "e-12", 'n': "e-9", 'u': "e-6", 'µ': "e-6", 'μ': "e-6", 'm': "e-3",
	'R': "e0", 'k': "e3", 'K': "e3", 'M': "e6", 'G': "e9", 'T': "e12",
}

// unitNames lists how the unit of an element may be written after its value.
var unitNames = map[byte][]string{
	'R': {"ohm", "Ohm", "Ω", "Ω", "R"},
	'C': {"F"},
	'L': {"H"},
	'V': {"V"},
	'A': {"A"},
	'Q': {"Vs", "Wb"},
	'-': nil,
}

// parseValue reads a value as the trade writes it: 1k, 4k7, 100n, 0.22u, R47,
// 1e-9, with or without the unit that belongs to kind (R, C, L, V, A, Q for
// volt seconds, - for a number). It is finite and not negative.
func parseValue(text string, kind byte) (float64, error) {
	body := strings.TrimSpace(text)
	for _, unit := range unitNames[kind] {
		if cut, ok := strings.CutSuffix(body, unit); ok && cut != "" {
			body = strings.TrimSpace(cut)
			if kind == 'C' || kind == 'L' {
				body = capitals.Replace(body)
			}
			break
		}
	}
	if (kind == 'C' || kind == 'L') && strings.ContainsAny(body, "MGT") {
		return 0, fmt.Errorf("%q is more than any capacitor or inductor has: M, G and T are mega, giga and tera; milli is m, micro u", text)
	}
	v, err := scaled(body)
	if err != nil || math.IsInf(v, 0) || math.IsNaN(v) || v < 0 {
		return 0, fmt.Errorf("%q is not a value; write it like 4k7, 100n, 0.22u or 1e-9", text)
	}
	if v != 0 && (v < leastValue || v > mostValue) {
		return 0, fmt.Errorf("%q is beyond what any part has; values from %g to %g can be simulated", text, leastValue, mostValue)
	}
	return v, nil
}

// capitals are prefixes as old parts have them, with the unit behind: 100NF.
var capitals = strings.NewReplacer("N", "n", "U", "u", "P", "p")

// Beyond these, in any unit, products and squares of values leave the range of floats.
const (
	leastValue = 1e-30
	mostValue  = 1e30
)

// scaled reads a number with a multiplier behind it or in place of the point.
func scaled(body string) (float64, error) {
	if v, err := plain(body); err == nil {
		return v, nil
	}
	for i, r := range body {
		exponent, ok := prefixes[r]
		if !ok {
			continue
		}
		before, after := body[:i], body[i+utf8.RuneLen(r):]
		if strings.ContainsAny(before, "eE") || strings.Trim(after, "0123456789") != "" {
			break
		}
		if after == "" {
			return plain(before + exponent)
		}
		if strings.Trim(before, "0123456789") != "" {
			break
		}
		return plain("0" + before + "." + after + exponent) // the multiplier is the point
	}
	return 0, strconv.ErrSyntax
}

// plain reads a decimal number, without the other notations that Go knows.
func plain(s string) (float64, error) {
	if s == "" || strings.Trim(s, "0123456789.eE+-") != "" {
		return 0, strconv.ErrSyntax
	}
	return strconv.ParseFloat(s, 64)
}
