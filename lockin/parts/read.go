package parts

import (
	"slices"
	"strings"
)

// Read reads a part as people write it down: a marking (see Decode), or else a
// value with or without its tolerance.
//
//	4n7K  472  100nF 5%  4.7 kΩ/1%  22uH ± 10 %  0.1u  R47
//
// With unit None the unit may be left out; then there is a reading for each kind
// of part of which there are such values. Errors are *SyntaxError.
func Read(text string, unit Unit) ([]Marking, error) {
	readings, err := Decode(text, unit)
	if err == nil || !looksWritten(text, unit) || isBands(text) {
		return readings, err
	}
	value, tolerance, column := cutTolerance(text)
	t := Tolerance{}
	if tolerance != "" {
		rel, err := ParseTolerance(tolerance)
		if err != nil {
			return nil, relocate(err, text, column)
		}
		t = Symmetric(rel)
	}
	return written(text, value, unit, t)
}

// looksWritten reports whether a text has what values have and markings do not.
// A long number alone is a value only where it is said of what.
func looksWritten(text string, unit Unit) bool {
	trimmed := strings.Trim(text, spaces)
	return strings.ContainsAny(trimmed, ".,%/±eE"+spaces) || strings.HasSuffix(strings.ToLower(trimmed), "ohm") || strings.HasSuffix(trimmed, "ppm") ||
		unit != None && strings.Trim(trimmed, "0123456789") == ""
}

// cutTolerance parts value and tolerance at / or ±, or else before a last word in
// per cent or ppm. The column is that of the tolerance, counted from 0.
func cutTolerance(text string) (value, tolerance string, column int) {
	for _, mark := range []string{"/", "±", "+-"} {
		if before, after, ok := strings.Cut(text, mark); ok {
			return before, after, len([]rune(before)) + len([]rune(mark)) + 1
		}
	}
	trimmed := strings.TrimRight(text, spaces)
	for _, unit := range []string{"%", "ppm"} {
		number, ok := strings.CutSuffix(trimmed, unit)
		if !ok {
			continue
		}
		number = strings.TrimRight(number, spaces)
		start := strings.LastIndexAny(number, spaces) + 1
		for start < len(number) && number[start]&0xC0 == 0x80 {
			start++ // the rest of a no-break space
		}
		return text[:start], text[start:], len([]rune(text[:start])) + 1
	}
	return text, "", 0
}

// written reads a value for every kind of part that it may belong to.
func written(text, value string, unit Unit, t Tolerance) ([]Marking, error) {
	var out []Marking
	var refused error
	for _, u := range []Unit{Farad, Ohm, Henry} {
		if unit != None && unit != u {
			continue
		}
		v, err := ParseValue(value, u)
		if err == nil && v == 0 {
			return nil, &SyntaxError{Text: text, Column: 1, Reason: "a value of nothing: only a link is marked 0"}
		}
		if err != nil {
			if refused == nil || column(err) > column(refused) {
				refused = relocate(err, text, 1)
			}
			continue
		}
		if unit == None && !plausible(v, u) {
			continue
		}
		out = append(out, Marking{Text: strings.Trim(text, spaces), Unit: u, Value: v, Tolerance: t, Code: WrittenNumber})
	}
	if len(out) == 0 && refused == nil {
		refused = &SyntaxError{Text: text, Column: 1, Reason: "there are no such parts: write the unit if it is meant"}
	}
	if len(out) > 0 {
		refused = nil
	}
	if len(out) > 1 { // nobody means a kilofarad by 1k
		out = slices.DeleteFunc(out, func(m Marking) bool { return m.Unit != Ohm && m.Value > 100 })
	}
	return out, refused
}

func column(err error) int {
	if e, ok := err.(*SyntaxError); ok {
		return e.Column
	}
	return 0
}

// plausible reports whether there are such parts at all (common practice, no
// source): 10 µΩ to 100 TΩ, 10 fF to 4 kF, 0.1 nH to 1 kH.
func plausible(v float64, unit Unit) bool {
	limits := map[Unit]Limits{Ohm: {1e-5, 1e14}, Farad: {1e-14, 4e3}, Henry: {1e-10, 1e3}}[unit]
	return limits.Contain(v)
}
