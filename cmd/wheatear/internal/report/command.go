package report

import (
	"fmt"
	"io"
	"strings"
)

// Command writes a command line that can be copied into a shell, broken with
// backslashes where it is longer than Columns. A flag stays with its value.
func Command(w io.Writer, words []string) {
	line := " "
	for i := 0; i < len(words); i++ {
		text := quoted(words[i])
		if strings.HasPrefix(text, "--") && i+1 < len(words) && !strings.HasPrefix(words[i+1], "--") {
			i++
			text += " " + quoted(words[i])
		}
		if line != " " && width(line)+1+width(text)+2 > Columns {
			fmt.Fprintln(w, line+" \\")
			line = "     "
		}
		line += " " + text
	}
	fmt.Fprintln(w, line)
}

// CommandLine is a command on one line that can be copied into a shell.
func CommandLine(words []string) string {
	var out []string
	for _, w := range words {
		out = append(out, quoted(w))
	}
	return strings.Join(out, " ")
}

// Words takes a line apart that CommandLine has made.
func Words(line string) (words []string) {
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
