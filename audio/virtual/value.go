package virtual

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"
)

// prefixes are the decimal multipliers. M is mega and m is milli.
var prefixes = map[rune]float64{
	'f': 1e-15, 'p': 1e-12, 'n': 1e-9, 'u': 1e-6, 'µ': 1e-6, 'μ': 1e-6, 'm': 1e-3,
	'k': 1e3, 'K': 1e3, 'M': 1e6, 'G': 1e9, 'T': 1e12,
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
			break
		}
	}
	v, err := scaled(body)
	if err != nil || math.IsInf(v, 0) || math.IsNaN(v) || v < 0 {
		return 0, fmt.Errorf("%q is not a value; write it like 4k7, 100n, 0.22u or 1e-9", text)
	}
	return v, nil
}

// scaled reads a number with a multiplier behind it or in place of the point.
func scaled(body string) (float64, error) {
	if v, err := plain(body); err == nil {
		return v, nil
	}
	for i, r := range body {
		scale, ok := prefixes[r]
		if r == 'R' { // R47 and 4R7
			scale, ok = 1, true
		}
		if !ok {
			continue
		}
		before, after := body[:i], body[i+utf8.RuneLen(r):]
		if after == "" {
			v, err := plain(before)
			return v * scale, err
		}
		return infix(before, after, scale)
	}
	return plain(body)
}

// infix reads 4k7: digits on both sides of the multiplier, or after it only.
func infix(before, after string, scale float64) (float64, error) {
	if strings.Trim(before+after, "0123456789") != "" {
		return 0, strconv.ErrSyntax
	}
	v, err := plain("0" + before + "." + after)
	return v * scale, err
}

// plain reads a decimal number, without the other notations that Go knows.
func plain(s string) (float64, error) {
	if s == "" || strings.Trim(s, "0123456789.eE+-") != "" {
		return 0, strconv.ErrSyntax
	}
	return strconv.ParseFloat(s, 64)
}
