// Package report writes what a person or a program reads: tables, findings,
// JSON. It formats; what it is given has been computed elsewhere.
package report

import (
	"fmt"
	"io"
	"strconv"
	"strings"
	"unicode/utf8"

	"example.org/wheatear/lockin/uncertain"
)

// Columns is the width of everything that a person reads.
const Columns = 80

// Wrap writes text as lines of at most Columns characters: the first begins with
// first, the others with as many spaces. Words that are longer are left whole.
func Wrap(w io.Writer, first, text string) {
	indent := strings.Repeat(" ", width(first))
	line, empty := first, true
	for _, word := range strings.Fields(text) {
		if !empty && width(line)+1+width(word) > Columns {
			fmt.Fprintln(w, strings.TrimRight(line, " "))
			line, empty = indent, true
		}
		if !empty {
			line += " "
		}
		line += tight.Replace(word)
		empty = false
	}
	fmt.Fprintln(w, strings.TrimRight(line, " "))
}

// Tie joins the words of a figure, so that Wrap keeps them on one line.
func Tie(text string) string { return strings.ReplaceAll(text, " ", tied) }

// tied stands for a space within a word until the word has found its line.
const tied = "\x1f"

var tight = strings.NewReplacer(tied, " ")

// width is the number of columns a text takes. All our letters take one.
func width(text string) int { return utf8.RuneCountInString(text) }

// padRight fills a text up to n columns.
func padRight(text string, n int) string {
	return text + strings.Repeat(" ", max(0, n-width(text)))
}

// padLeft fills a text up to n columns from the left.
func padLeft(text string, n int) string {
	return strings.Repeat(" ", max(0, n-width(text))) + text
}

// plural writes a number and its noun.
func plural(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	if stem, ok := strings.CutSuffix(noun, "y"); ok {
		noun = stem + "ie"
	}
	return strconv.Itoa(n) + " " + noun + "s"
}

// nominal writes a frequency that was asked for and is therefore exact, to seven
// digits.
func nominal(freqHz float64) string {
	seven, err := strconv.ParseFloat(strconv.FormatFloat(freqHz, 'g', 7, 64), 64)
	if err != nil {
		seven = freqHz
	}
	return uncertain.Format(seven, 0, "Hz")
}
