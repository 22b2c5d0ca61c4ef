package parts

import (
	"fmt"
	"unicode/utf8"
)

// maxText is the longest text, in bytes, that any of the parsers looks at. A
// value has a few dozen characters at most; anything longer is a mistake.
const maxText = 4096

// SyntaxError says where and why a text was not understood.
type SyntaxError struct {
	Text   string // what was parsed
	Column int    // the character at fault, counted from 1; one past the end where something is missing
	Reason string // what is wrong and what to write instead
}

// Error names the text, the character and the reason.
func (e *SyntaxError) Error() string {
	return fmt.Sprintf("parts: %q, character %d: %s", shorten(e.Text), e.Column, e.Reason)
}

// shorten keeps a message readable when the text is not a value but a page.
func shorten(text string) string {
	const most = 60
	if utf8.RuneCountInString(text) <= most {
		return text
	}
	return string([]rune(text)[:most]) + "…"
}

// checkText refuses what no parser should start on.
func checkText(text string) error {
	if len(text) > maxText {
		return &SyntaxError{Text: text, Column: 1, Reason: fmt.Sprintf("%d bytes are too long to be a value", len(text))}
	}
	if !utf8.ValidString(text) {
		return &SyntaxError{Text: text, Column: invalidColumn(text), Reason: "not UTF-8 text: write µ as u and Ω as ohm"}
	}
	return nil
}

// invalidColumn counts the characters before the first byte that is not UTF-8.
func invalidColumn(text string) int {
	column := 1
	for len(text) > 0 {
		r, size := utf8.DecodeRuneInString(text)
		if r == utf8.RuneError && size == 1 {
			break
		}
		text, column = text[size:], column+1
	}
	return column
}
