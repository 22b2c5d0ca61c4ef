package text

import (
	"fmt"
	"io"
	"strings"

	"charm.land/lipgloss/v2"
)

// Wrap writes text as lines of the usual width: the first begins with first, the others
// with as many spaces. Longer words are left whole, so that names of files can be copied.
func Wrap(w io.Writer, first, text string) {
	for _, line := range wrapped(first, text, Usual) {
		fmt.Fprintln(w, line)
	}
}

// Tie joins the words of a figure, so that they stay on one line.
func Tie(text string) string { return strings.ReplaceAll(text, " ", tied) }

// tied is a space that does not break.
const tied = "\u00a0"

// wrapped are the lines of a text; words need not be held together in them any more.
func wrapped(first, text string, width int) (lines []string) {
	indent := strings.Repeat(" ", lipgloss.Width(first))
	line, empty := first, true
	end := func() {
		lines = append(lines, strings.TrimRight(strings.ReplaceAll(line, tied, " "), " "))
		line, empty = indent, true
	}
	for _, word := range strings.FieldsFunc(text, func(r rune) bool { return r == ' ' || r == '\n' || r == '\t' }) {
		if !empty && lipgloss.Width(line)+1+lipgloss.Width(word) > width {
			end()
		}
		if !empty {
			line += " "
		}
		line, empty = line+word, false
	}
	end()
	return lines
}

// broken is a text without words that are longer than a line.
func broken(text string, width int) string {
	words := strings.Split(text, " ")
	for i, word := range words {
		var pieces []string
		letters := []rune(word)
		for len(letters) > width {
			pieces, letters = append(pieces, string(letters[:width])), letters[width:]
		}
		words[i] = strings.Join(append(pieces, string(letters)), " ")
	}
	return strings.Join(words, " ")
}
