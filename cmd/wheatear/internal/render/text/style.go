package text

import (
	"charm.land/lipgloss/v2"

	"example.org/wheatear/lockin/finding"
)

// style is how letters look on a terminal that can.
type style = lipgloss.Style

var (
	plain  = lipgloss.NewStyle()
	strong = lipgloss.NewStyle().Bold(true)
	faint  = lipgloss.NewStyle().Faint(true)
)

// severities have a colour each, beside the word.
var severities = map[finding.Severity]style{
	finding.Invalid: lipgloss.NewStyle().Bold(true).Foreground(lipgloss.Red),
	finding.Warning: lipgloss.NewStyle().Foreground(lipgloss.Yellow),
	finding.Note:    faint,
}

func (p *printer) style(text string, s style) string {
	if !p.look.Colour {
		return text
	}
	return s.Inline(true).Render(text)
}
