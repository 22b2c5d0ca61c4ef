package text

import (
	"bufio"
	"strings"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/render/typeset"
)

// glyphs are the letters of verdicts, five rows each.
var glyphs = map[rune][5]string{
	'P': {"████ ", "█   █", "████ ", "█    ", "█    "}, 'A': {" ███ ", "█   █", "█████", "█   █", "█   █"},
	'S': {" ████", "█    ", " ███ ", "    █", "████ "}, 'F': {"█████", "█    ", "████ ", "█    ", "█    "},
	'I': {"███", " █ ", " █ ", " █ ", "███"}, 'L': {"█    ", "█    ", "█    ", "█    ", "█████"},
	'U': {"█   █", "█   █", "█   █", "█   █", " ███ "}, 'N': {"█   █", "██  █", "█ █ █", "█  ██", "█   █"},
	'D': {"████ ", "█   █", "█   █", "█   █", "████ "}, 'E': {"█████", "█    ", "████ ", "█    ", "█████"},
	'C': {" ████", "█    ", "█    ", "█    ", " ████"}, 'R': {"████ ", "█   █", "████ ", "█  █ ", "█   █"},
}

// Large sets a verdict in five rows between empty ones, for a look from two steps away.
func Large(word string) string {
	var b strings.Builder
	b.WriteByte('\n')
	for row := range 5 {
		line := "      "
		for _, r := range strings.ToUpper(word) {
			line += glyphs[r][row] + "  "
		}
		b.WriteString(strings.TrimRight(line, " ") + "\n")
	}
	b.WriteByte('\n')
	return b.String()
}

// Columns sets texts in columns of those widths, in one line; the last runs on.
func Columns(widths []int, cells ...block.Text) string {
	var set typeset.Setter
	line := ""
	for i, c := range cells {
		if i > 0 {
			line += between
		}
		line += padded(strings.ReplaceAll(set.Text(c), "\u00a0", " "), widths[min(i, len(widths)-1)])
	}
	return strings.TrimRight(line, " ")
}

// Paragraph sets a text in lines, the first behind first.
func Paragraph(first string, t block.Text, look Look) string {
	if look.Width == 0 {
		look.Width = Usual
	}
	var b strings.Builder
	p := &printer{w: bufio.NewWriter(&b), look: look}
	p.wrap(first, p.set.Text(t))
	p.w.Flush()
	return b.String()
}
