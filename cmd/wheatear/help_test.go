package main

import (
	"strings"
	"testing"
	"unicode/utf8"
)

// checkNarrow fails where a person with 80 columns sees broken lines.
func checkNarrow(t *testing.T, text string) {
	t.Helper()
	for _, line := range strings.Split(text, "\n") {
		if n := utf8.RuneCountInString(line); n > 80 {
			t.Errorf("%d columns: %s", n, line)
		}
	}
}

var helpTopics = []string{
	"help", "help devices", "help serve", "help setup", "help stimulus", "help calibrate", "help demo", "help measure", "help sweep", "help notebook", "help notebook list", "help notebook show", "help notebook history", "help notebook describe", "help notebook export",
	"help notebook import", "help notebook prune", "help notebook check", "help parts", "help demodulate", "help simulate", "help help", "help wiring", "help jig", "help json", "help completion", "measure --help",
}

func TestHelpFitsAnOrdinaryTerminal(t *testing.T) {
	for _, line := range helpTopics {
		status, text := wheatear(line)
		if status != 0 || len(text) < 100 {
			t.Errorf("%s: status %d, %q", line, status, text)
		}
		if line != "help completion" { // its text is not ours
			checkNarrow(t, text)
		}
	}
}

// TestHelpExamples runs every example that the help texts show, in the order of
// the work, on a desk with the files that they name.
func TestHelpExamples(t *testing.T) {
	desk(t)
	ran := 0
	for _, topic := range []string{"", "devices", "setup", "stimulus", "calibrate", "measure", "sweep", "parts", "demodulate", "simulate", "help"} {
		_, text := wheatear("help " + topic)
		for _, line := range examples(text) {
			if status, seen := wheatear(line); status != 0 {
				t.Errorf("help %s: %s: status %d: %s", topic, line, status, seen)
			}
			ran++
		}
	}
	if ran < 15 {
		t.Errorf("only %d examples were found", ran)
	}
}

// examples returns the command lines of the part of a help text that is headed
// Example, with continued lines joined.
func examples(text string) []string {
	_, text, ok := strings.Cut(text, "\nExample:\n")
	if !ok {
		return nil
	}
	text, _, _ = strings.Cut(text, "\n\n")
	var out []string
	for _, line := range strings.Split(strings.ReplaceAll(text, "\\\n", " "), "\n") {
		if args, ok := strings.CutPrefix(strings.TrimSpace(line), "wheatear "); ok {
			out = append(out, args)
		}
	}
	return out
}
