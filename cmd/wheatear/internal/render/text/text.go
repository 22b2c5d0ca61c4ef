// Package text sets blocks for a terminal: in a width of 60 to 160 columns, the main
// value apart from the rest, colour as a second sign where the terminal has it.
package text

import (
	"bufio"
	"io"
	"os"
	"strconv"
	"strings"

	"charm.land/lipgloss/v2"
	"golang.org/x/term"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/render/typeset"
	"example.org/wheatear/lockin/finding"
)

// The widths that text is set in.
const (
	Least, Usual, Most = 60, 80, 160
)

// Look is how text is set. The zero value is plain text of the usual width.
type Look struct {
	Width  int  // columns; 0 for the usual
	Colour bool // styles and colours
	Full   bool // every finding by itself, and every figure
}

// LookOf is what suits where the text goes: the width of a terminal and its colours,
// unless NO_COLOR is set, and plain text of the usual width for anything else.
func LookOf(out io.Writer) Look {
	f, ok := out.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return Look{}
	}
	wide, _, err := term.GetSize(int(f.Fd()))
	if err != nil {
		wide = Usual
	}
	return Look{Width: min(max(wide, Least), Most), Colour: os.Getenv("NO_COLOR") == "" && os.Getenv("TERM") != "dumb"}
}

// Write sets blocks, with an empty line between.
func Write(w io.Writer, list []block.Block, look Look) error {
	if look.Width == 0 {
		look.Width = Usual
	}
	out := bufio.NewWriter(w)
	p := &printer{w: out, look: look, names: namesOf(list)}
	last := len(list)
	for i, b := range list {
		if _, ok := b.(block.Provenance); ok && i == len(list)-1 {
			last = i
		}
	}
	for _, b := range list[:last] {
		p.block(b)
	}
	if legend := p.set.Legend(); legend != "" {
		p.gap()
		p.wrap("", legend)
	}
	for _, b := range list[last:] {
		p.block(b)
	}
	return out.Flush()
}

// printer writes lines.
type printer struct {
	w     *bufio.Writer
	look  Look
	set   typeset.Setter
	names int  // columns of the names of figures
	any   bool // something was written
}

// mostNames is how wide the column of names may be.
const mostNames = 24

// namesOf is the width of the widest name of a figure.
func namesOf(list []block.Block) (columns int) {
	look := func(figures ...block.Figure) {
		for _, f := range figures {
			if n := lipgloss.Width(f.Name); n > columns && n <= mostNames {
				columns = n
			}
		}
	}
	for _, b := range list {
		switch b := b.(type) {
		case block.Headline:
			if b.Main != nil {
				look(*b.Main)
			}
			look(b.Beside...)
		case block.Figures:
			if !b.Full {
				look(b.List...)
			}
		}
	}
	return columns
}

func (p *printer) block(b block.Block) {
	switch b := b.(type) {
	case block.Headline:
		p.headline(b)
	case block.Figures:
		if len(b.List) > 0 && (!b.Full || p.look.Full) {
			p.figures(b)
		}
	case block.Table:
		if !b.Hidden && (!b.Full || p.look.Full) {
			p.table(b)
		}
	case block.Chart:
		if b.Plain != nil {
			p.table(*b.Plain)
		}
	case block.Paragraphs:
		p.title(b.Title)
		for _, t := range b.Text {
			p.wrap(indent(b.Title), p.set.Sentence(t))
		}
	case block.Lines:
		p.gap()
		for _, line := range b.List {
			p.line("    " + line)
		}
	case block.Findings:
		p.findings(b)
	case block.Advice:
		p.gap()
		for _, t := range b.Text {
			p.wrap("  → ", p.set.Sentence(t))
		}
	case block.Provenance:
		p.gap()
		p.wrap("", p.style(broken(p.set.Text(b.Short), p.look.Width), faint))
	}
}

// gap leaves an empty line, but not at the beginning.
func (p *printer) gap() {
	if p.any {
		p.line("")
	}
}

// title begins a block.
func (p *printer) title(text string) {
	p.gap()
	if text != "" {
		p.line(text)
		p.gap()
	}
}

func indent(title string) string {
	if title == "" {
		return ""
	}
	return "  "
}

func (p *printer) headline(h block.Headline) {
	p.gap()
	if len(h.Title) > 0 {
		p.wrap("", p.set.Text(h.Title))
	}
	if h.Verdict != "" {
		p.wrap("", p.style(strings.ToUpper(h.Verdict), strong))
	}
	if h.Main != nil {
		p.gap()
		p.figure(*h.Main, strong)
		for _, f := range h.Beside {
			p.figure(f, plain)
		}
	}
	for _, t := range h.Notes {
		p.wrap("  ", p.set.Sentence(t))
	}
}

func (p *printer) figures(b block.Figures) {
	p.title(b.Title)
	for _, f := range b.List {
		p.figure(f, plain)
	}
}

// figure is a line of its own: name, value, remark.
func (p *printer) figure(f block.Figure, s style) {
	text := p.style(p.set.Value(f.Value), s)
	if len(f.Remark) > 0 {
		text += ", " + p.set.Text(f.Remark)
	}
	p.wrap("  "+padded(f.Name, p.names)+"  ", text)
}

// findings are the gravest first; what asks for nothing is one line.
func (p *printer) findings(b block.Findings) {
	if len(b.List)+len(b.Settled) == 0 {
		return
	}
	p.title(b.Title)
	const column = 9
	list, settled := b.List, b.Settled
	if p.look.Full {
		list, settled = append(list[:len(list):len(list)], settled...), nil
	}
	for _, f := range list {
		head := p.style(padded(string(f.Severity), column), severities[f.Severity])
		text := string(f.Code)
		if len(f.Where) == 1 {
			text += " " + p.set.Text(f.Where[0])
		}
		text += ": " + p.set.Sentence(f.Detail)
		if len(f.Where) > 1 {
			const most = 6
			text += " Seen " + strconv.Itoa(f.Count) + " times: " + p.set.Where(f.Where, most) + "."
		}
		p.wrap(head, text)
		if len(f.Advice) > 0 {
			p.wrap(strings.Repeat(" ", column)+"→ ", p.set.Sentence(f.Advice))
		}
	}
	if len(settled) > 0 {
		var words []string
		for _, f := range settled {
			word := string(f.Code)
			if len(f.Brief) > 0 {
				word = f.Brief[0]
			}
			if len(f.Brief) > 1 {
				word += " (and others)"
			}
			words = append(words, word)
		}
		p.wrap(padded(string(finding.Note), column), "corrected or removed: "+strings.Join(words, ", ")+".")
	}
}

// wrap writes text in lines: the first begins with first, the others with as many spaces.
func (p *printer) wrap(first, text string) {
	for _, line := range wrapped(first, text, p.look.Width) {
		p.line(line)
	}
}

// line writes one line, whose words need not be held together any more.
func (p *printer) line(text string) {
	p.any = true
	p.w.WriteString(strings.TrimRight(strings.ReplaceAll(text, tied, " "), " "))
	p.w.WriteByte('\n')
}

// padded fills a text up to n columns.
func padded(text string, n int) string {
	return text + strings.Repeat(" ", max(0, n-lipgloss.Width(text)))
}

// Line sets as many texts as fit into one line.
func Line(cells []block.Text, look Look) string {
	if look.Width == 0 {
		look.Width = Usual
	}
	var set typeset.Setter
	line := ""
	for _, c := range cells {
		text := strings.ReplaceAll(set.Text(c), "\u00a0", " ")
		if text == "" || lipgloss.Width(line)+len(between)+lipgloss.Width(text) >= look.Width {
			continue
		}
		if line != "" {
			line += between
		}
		line += text
	}
	return line
}
