package parts

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Series is one of the series of preferred numbers, named by how many values it
// has in a decade. Any other number is no series and has no members.
//
// Source: IEC 60063:2015, Preferred number series for resistors and capacitors.
type Series int

// The series, coarsest first.
const (
	E3   Series = 3
	E6   Series = 6
	E12  Series = 12
	E24  Series = 24
	E48  Series = 48
	E96  Series = 96
	E192 Series = 192
)

// AllSeries returns the series, coarsest first.
func AllSeries() []Series { return []Series{E3, E6, E12, E24, E48, E96, E192} }

// String returns the name, such as E24.
func (s Series) String() string { return "E" + strconv.Itoa(int(s)) }

// ParseSeries reads the name of a series in either case.
func ParseSeries(text string) (Series, error) {
	for _, s := range AllSeries() {
		if strings.EqualFold(text, s.String()) {
			return s, nil
		}
	}
	return 0, &SyntaxError{Text: text, Column: 1, Reason: fmt.Sprintf("no series of preferred numbers: write one of %v", AllSeries())}
}

// Valid reports whether the series exists.
func (s Series) Valid() bool {
	return s == E3 || s == E6 || s == E12 || s == E24 || s == E48 || s == E96 || s == E192
}

// Figures returns the number of significant figures of its members, 2 or 3; 0 for no series.
func (s Series) Figures() int {
	switch {
	case !s.Valid():
		return 0
	case s <= E24:
		return 2
	}
	return 3
}

// Tolerance returns the customary tolerance of parts of the series, as a
// fraction. E3, for parts of more than 20 %, has none; the parts of E192 are of
// 0.5 % or better.
func (s Series) Tolerance() (rel float64, ok bool) {
	rel, ok = map[Series]float64{E6: 0.2, E12: 0.1, E24: 0.05, E48: 0.02, E96: 0.01, E192: 0.005}[s]
	return rel, ok
}

// Members returns the values of one decade, from 1 up, rising.
//
//	10^(k/n), k = 0 … n−1, rounded to Figures, but for a few exceptions
func (s Series) Members() []float64 {
	out := make([]float64, 0, max(0, int(s)))
	for _, m := range s.figures() {
		out = append(out, s.scaled(m, 0))
	}
	return out
}

// exceptions to the rule, by the place in E24 and in E192, which the other
// series are taken from. Those of E24 are older than the rule.
func exception(s Series, k int) (figures int, ok bool) {
	if s == E192 && k == 185 {
		return 920, true
	}
	if s == E24 {
		figures, ok = map[int]int{10: 27, 11: 30, 12: 33, 13: 36, 14: 39, 15: 43, 16: 47, 22: 82}[k]
	}
	return figures, ok
}

// figures returns the members as whole numbers: 47, 499.
func (s Series) figures() []int {
	if !s.Valid() {
		return nil
	}
	base := E24
	if s > E24 {
		base = E192
	}
	unit := math.Pow10(s.Figures() - 1)
	var out []int
	for k := 0; k < int(base); k += int(base / s) {
		m, ok := exception(base, k)
		if !ok {
			m = int(math.Round(unit * math.Pow(10, float64(k)/float64(base))))
		}
		out = append(out, m)
	}
	return out
}

// scaled returns the float64 nearest to a member in the decade of 10^exponent.
func (s Series) scaled(figures, exponent int) float64 {
	return decimal(strconv.Itoa(figures), exponent-s.Figures()+1)
}

// decimal returns the float64 nearest to digits × 10^exponent: it rounds once, so
// that every way to write a number gives the same. Digits only.
func decimal(digits string, exponent int) float64 {
	v, err := strconv.ParseFloat(digits+"e"+strconv.Itoa(exponent), 64)
	if err != nil {
		return math.Inf(1)
	}
	return v
}
