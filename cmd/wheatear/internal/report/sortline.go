package report

import (
	"fmt"
	"io"
	"math"
	"strings"

	"example.org/wheatear/cmd/wheatear/internal/run"
	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/uncertain"
)

// unread is what is shown of a part that could not be read, which is undecided.
const unread = "UNREAD"

// word is the verdict as it is shown.
func word(p run.Part) string {
	if math.IsNaN(p.Value) && p.Verdict == string(parts.Undecided) {
		return unread
	}
	return strings.ToUpper(p.Verdict)
}

// SortLine shows one part of a run in a line, and in a second one what keeps it from
// being decided. Large writes the verdict before it in letters for a look from two steps
// away.
func SortLine(w io.Writer, p run.Part, expected parts.Marking, large bool) {
	if large {
		letters(w, word(p))
	}
	text := "—"
	if !math.IsNaN(p.Value) {
		text = uncertain.Format(p.Value, p.U, expected.Unit.String())
	}
	line := fmt.Sprintf("%4d  %s  %s", p.Number, padRight(word(p), 9), padRight(text, 24))
	if p.Bin != "" {
		line += "  bin " + p.Bin
		if p.Chance < 0.95 {
			line += fmt.Sprintf(" (%.0f %%)", 100*p.Chance)
		}
	}
	fmt.Fprintln(w, strings.TrimRight(line, " "))
	if why := whyUndecided(p, expected); why != "" {
		Wrap(w, "      ", why)
	}
}

// whyUndecided says how near the limit a part lies, and what would decide it.
func whyUndecided(p run.Part, expected parts.Marking) string {
	if p.Verdict != string(parts.Undecided) || math.IsNaN(p.Value) {
		return ""
	}
	l, unit := expected.Limits(), expected.Unit
	limit, side := l.High, "within"
	if math.Abs(p.Value-l.Low) < math.Abs(p.Value-l.High) {
		limit = l.Low
	}
	if !l.Contain(p.Value) {
		side = "beyond"
	}
	text := fmt.Sprintf("cannot be told: %s %s the limit of %s, inside the guard band", Tie(rough(math.Abs(p.Value-limit), unit.String())), side, Tie(rough3(limit, unit)))
	if !math.IsNaN(p.EnoughU) {
		text += "; needs " + Tie("u < "+rough(p.EnoughU, unit.String())) + ", has " + Tie(rough(p.U, unit.String()))
	}
	return text
}

// glyphs are the letters of verdicts, five rows each.
var glyphs = map[rune][5]string{
	'P': {"████ ", "█   █", "████ ", "█    ", "█    "}, 'A': {" ███ ", "█   █", "█████", "█   █", "█   █"},
	'S': {" ████", "█    ", " ███ ", "    █", "████ "}, 'F': {"█████", "█    ", "████ ", "█    ", "█    "},
	'I': {"███", " █ ", " █ ", " █ ", "███"}, 'L': {"█    ", "█    ", "█    ", "█    ", "█████"},
	'U': {"█   █", "█   █", "█   █", "█   █", " ███ "}, 'N': {"█   █", "██  █", "█ █ █", "█  ██", "█   █"},
	'D': {"████ ", "█   █", "█   █", "█   █", "████ "}, 'E': {"█████", "█    ", "████ ", "█    ", "█████"},
	'C': {" ████", "█    ", "█    ", "█    ", " ████"}, 'R': {"████ ", "█   █", "████ ", "█  █ ", "█   █"},
}

// letters writes a word in five rows between empty ones.
func letters(w io.Writer, text string) {
	fmt.Fprintln(w)
	for row := range 5 {
		line := "      "
		for _, r := range text {
			line += glyphs[r][row] + "  "
		}
		fmt.Fprintln(w, strings.TrimRight(line, " "))
	}
	fmt.Fprintln(w)
}
