// Package typeset writes numbers, for every output that a person reads: a minus sign
// before what is negative, the unit once, degrees close to their number, and no-break
// spaces within, so that a line never ends between a number and its unit.
package typeset

import (
	"math"
	"strconv"
	"strings"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/lockin/uncertain"
)

// space does not break.
const space = "\u00a0"

// None is written for what is not known.
const None = "—"

// Setter writes values, and remembers whether an interval was among them.
type Setter struct{ intervals bool }

// Legend explains the signs of intervals; empty where there was none.
func (s *Setter) Legend() string {
	if !s.intervals {
		return ""
	}
	return "± is the half-width of the 95" + space + "% interval; (a to b) are its ends."
}

// Value writes a value.
func (s *Setter) Value(v block.Value) string {
	switch {
	case v.Word != "":
		return v.Word
	case len(v.Text) > 0:
		return s.Text(v.Text)
	case !v.Time.IsZero():
		return v.Time.Format("2006-01-02" + space + "15:04")
	case v.Unit == "dBFS" && !(v.Quantity.High > v.Quantity.Low):
		return decibels(v.Quantity.Value)
	}
	number, interval := s.Pieces(v)
	return number + interval
}

// Pieces writes a quantity in two pieces, so that the first may be set larger: the
// value, and its interval with the unit behind. They join to what Value writes.
func (s *Setter) Pieces(v block.Value) (value, rest string) {
	w := written(v)
	unit := suffix(w, v.Unit)
	switch {
	case w.Half != "":
		s.intervals = true
		return w.Value, space + "±" + space + w.Half + unit
	case w.Value != "" && w.Low != "":
		s.intervals = true
		return w.Value, space + "(" + w.Low + space + "to" + space + w.High + ")" + unit
	case w.Value != "":
		return w.Value + unit, ""
	case w.Low != "" && w.High != "":
		return w.Low + space + "to" + space + w.High + unit, ""
	case w.Low != "":
		return ">" + space + w.Low + unit, ""
	case w.High != "":
		return "<" + space + w.High + unit, ""
	}
	return None, ""
}

// Apart is Pieces with the unit behind both, for where they do not stand on one line.
func (s *Setter) Apart(v block.Value) (value, rest string) {
	value, rest = s.Pieces(v)
	if rest != "" {
		value += suffix(written(v), v.Unit)
	}
	return value, rest
}

// written are the digits of a value as a person reads it.
func written(v block.Value) uncertain.Written {
	q, unit := v.Quantity, v.Unit
	switch unit {
	case "rad":
		q, unit = scaled(q, 180/math.Pi), "°"
	case block.Share:
		q, unit = scaled(q, 100), "%"
	}
	if v.Digits > 0 {
		q = uncertain.Quantity{Value: rounded(q.Value, v.Digits)}
		q.Low, q.High = q.Value, q.Value
	}
	of := unit
	if bare[unit] {
		of = ""
	}
	w := uncertain.WriteQuantity(q, of)
	if bare[unit] {
		w.Unit = unit
	}
	for _, digits := range []*string{&w.Value, &w.Low, &w.High, &w.Power} {
		*digits = strings.ReplaceAll(*digits, "-", "\u2212")
	}
	if v.Signed && q.Value > 0 && w.Value != "" {
		w.Value = "+" + w.Value
	}
	return w
}

// bare are units that take no prefix.
var bare = map[string]bool{"dB": true, "dBFS": true, "samples": true, "ppm/h": true, "%/h": true}

func suffix(w uncertain.Written, unit string) string {
	switch {
	case w.Unit == "":
		return w.Power
	case unit == "rad":
		return w.Power + w.Unit
	}
	return w.Power + space + w.Unit
}

func scaled(q uncertain.Quantity, by float64) uncertain.Quantity {
	return uncertain.Quantity{Value: q.Value * by, U: q.U * by, Low: q.Low * by, High: q.High * by}
}

// rounded is v to so many significant digits.
func rounded(v float64, digits int) float64 {
	out, err := strconv.ParseFloat(strconv.FormatFloat(v, 'e', digits-1, 64), 64)
	if err != nil {
		return v
	}
	return out
}

// decibels writes a level re full scale.
func decibels(db float64) string {
	if math.IsInf(db, -1) {
		return "silent"
	}
	return strings.Replace(strconv.FormatFloat(db, 'f', 1, 64), "-", "\u2212", 1) + space + "dBFS"
}

// Text writes a sentence.
func (s *Setter) Text(t block.Text) string {
	var b strings.Builder
	for _, r := range t {
		if r.Value != nil {
			b.WriteString(s.Value(*r.Value))
		} else {
			b.WriteString(r.Words)
		}
	}
	return b.String()
}

// Sentence is Text with a full stop at its end.
func (s *Setter) Sentence(t block.Text) string {
	text := s.Text(t)
	if text == "" || strings.HasSuffix(text, ".") {
		return text
	}
	return text + "."
}

// Where lists places, a few of them by name.
func (s *Setter) Where(places []block.Text, most int) string {
	var list []string
	for _, p := range places {
		list = append(list, s.Text(p))
	}
	if n := len(list); n > most {
		list = append(list[:most-1:most-1], "and "+strconv.Itoa(n-most+1)+" more")
	}
	return strings.Join(list, ", ")
}
