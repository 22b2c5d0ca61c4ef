package cli

import (
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"example.org/wheatear/cmd/wheatear/internal/render/text"
)

// writeCommand writes a command line that can be copied into a shell, broken with
// backslashes where it is longer than a line. A flag stays with its value.
func writeCommand(w io.Writer, words []string) {
	line := " "
	for i := 0; i < len(words); i++ {
		part := quoted(words[i])
		if strings.HasPrefix(part, "--") && i+1 < len(words) && !strings.HasPrefix(words[i+1], "--") {
			i++
			part += " " + quoted(words[i])
		}
		if line != " " && utf8.RuneCountInString(line)+1+utf8.RuneCountInString(part)+2 > text.Usual {
			fmt.Fprintln(w, line+" \\")
			line = "     "
		}
		line += " " + part
	}
	fmt.Fprintln(w, line)
}

// commandLine is a command on one line that can be copied into a shell.
func commandLine(words []string) string {
	var out []string
	for _, w := range words {
		out = append(out, quoted(w))
	}
	return strings.Join(out, " ")
}

// commandWords takes a line apart that commandLine has made.
func commandWords(line string) (words []string) {
	word, inWord, quoted := "", false, false
	for i := 0; i < len(line); i++ {
		switch c := line[i]; {
		case c == '\'':
			quoted, inWord = !quoted, true
		case !quoted && c == '\\' && i+1 < len(line):
			i++
			word, inWord = word+line[i:i+1], true
		case !quoted && c == ' ':
			if inWord {
				words = append(words, word)
			}
			word, inWord = "", false
		default:
			word, inWord = word+string(line[i:i+1]), true
		}
	}
	if inWord {
		words = append(words, word)
	}
	return words
}

// quoted protects a word from a shell where it needs that.
func quoted(word string) string {
	safe := func(r rune) bool {
		return r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || strings.ContainsRune("-_./=,%:+@~", r)
	}
	if word != "" && strings.IndexFunc(word, func(r rune) bool { return !safe(r) }) < 0 && word[0] != '~' {
		return word
	}
	return "'" + strings.ReplaceAll(word, "'", `'\''`) + "'"
}
