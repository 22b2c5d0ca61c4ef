package block

import (
	"fmt"
	"math"
	"strings"
	"time"

	"example.org/wheatear/lockin/uncertain"
)

// Value is what stands in a figure or a cell: a quantity with its interval, a number
// without uncertainty, or a word. Units are SI without prefix; a renderer chooses that.
// Angles are in rad and shares in 1: a person sees degrees and per cent.
type Value struct {
	Quantity uncertain.Quantity
	Unit     string // Ω, F, H, S, V, A, Hz, s, rad, dBFS, share, …; empty for a pure number
	Digits   int    // significant digits of a number without uncertainty; 0 for a quantity, whose interval gives them
	Word     string // in place of a number
	Text     Text   // likewise, with numbers in it
	Time     time.Time
	Signed   bool // a plus sign before what is positive, as of differences
}

// Share is the unit of parts of a whole, which a person sees in per cent.
const Share = "share"

// Of is a quantity, whose interval says how many digits it has.
func Of(q uncertain.Quantity, unit string) Value { return Value{Quantity: q, Unit: unit} }

// Number is a number without uncertainty, to so many significant digits.
func Number(v float64, unit string, digits int) Value {
	return Value{Quantity: uncertain.Quantity{Value: v, Low: v, High: v}, Unit: unit, Digits: digits}
}

// Rough is a number of which no uncertainty is known.
func Rough(v float64, unit string) Value { return Number(v, unit, 2) }

// Hz is a frequency that was asked for, and therefore exact.
func Hz(v float64) Value { return Number(v, "Hz", 7) }

// PlaceHz is a frequency with as many digits as distinguish the points of a sweep.
func PlaceHz(v float64) Value { return Number(v, "Hz", 5) }

// Word is a text that stands for itself.
func Word(text string) Value { return Value{Quantity: uncertain.Absent(), Word: text} }

// Moment is a time.
func Moment(t time.Time) Value { return Value{Quantity: uncertain.Absent(), Time: t} }

// Known reports whether there is anything to show.
func (v Value) Known() bool {
	return v.Word != "" || len(v.Text) > 0 || !v.Time.IsZero() || !v.Quantity.IsAbsent()
}

// Text is a sentence, or a part of one, with values in it.
type Text []Run

// Run is a stretch of words, or a value.
type Run struct {
	Words string
	Value *Value
}

// Say writes a sentence. Each %v in the format is replaced by an argument: a Value and a
// Text stay what they are, a string and an int become words.
func Say(format string, args ...any) Text {
	var out Text
	pieces := strings.Split(format, "%v")
	if len(pieces) != len(args)+1 {
		panic(fmt.Sprintf("block: %d values for %q", len(args), format))
	}
	for i, words := range pieces {
		out = out.words(words)
		if i == len(args) {
			break
		}
		switch a := args[i].(type) {
		case Value:
			out = append(out, Run{Value: &a})
		case Text:
			for _, r := range a {
				if r.Value == nil {
					out = out.words(r.Words)
				} else {
					out = append(out, r)
				}
			}
		default:
			out = out.words(fmt.Sprint(a))
		}
	}
	return out
}

// words adds words behind a text.
func (t Text) words(words string) Text {
	if words == "" {
		return t
	}
	if n := len(t); n > 0 && t[n-1].Value == nil {
		return append(t[:n-1:n-1], Run{Words: t[n-1].Words + words})
	}
	return append(t, Run{Words: words})
}

// Join puts texts behind each other.
func Join(list []Text, between string) Text {
	var out Text
	for i, t := range list {
		if i > 0 {
			out = out.words(between)
		}
		out = Say("%v%v", out, t)
	}
	return out
}

// Count is a number of things and their noun: 1 reading, 3 frequencies.
func Count(n int, noun string) Text {
	if n == 1 {
		return Say("1 " + noun)
	}
	if stem, ok := strings.CutSuffix(noun, "y"); ok {
		noun = stem + "ie"
	}
	return Say("%v "+noun+"s", n)
}

// OrNaN is the number behind a pointer.
func OrNaN(v *float64) float64 {
	if v == nil {
		return math.NaN()
	}
	return *v
}
