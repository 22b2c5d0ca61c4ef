package text

import (
	"strings"

	"charm.land/lipgloss/v2"

	"example.org/wheatear/cmd/wheatear/internal/block"
)

const between = "  " // columns

// table writes as many columns as there is room for: those of the highest rank are left
// out first.
func (p *printer) table(t block.Table) {
	p.title(t.Title)
	columns := t.Shown()
	cells := make([][]string, len(t.Rows))
	for i, row := range t.Rows {
		for _, c := range columns {
			cells[i] = append(cells[i], p.cell(row, c))
		}
	}
	wide := make([]int, len(columns))
	used := make([]bool, len(columns))
	for k, c := range columns {
		for i, row := range t.Rows {
			if len(row.Rest) > 0 && k > 0 {
				continue
			}
			wide[k] = max(wide[k], lipgloss.Width(cells[i][k]))
			used[k] = used[k] || cells[i][k] != ""
		}
		wide[k] = max(wide[k], lipgloss.Width(t.Columns[c].Name))
	}
	p.narrow(t, columns, wide, used)
	shown := p.fitting(t, columns, wide, used)
	line := ""
	for _, k := range shown {
		line += between + padded(t.Columns[columns[k]].Name, wide[k])
	}
	if strings.TrimSpace(line) != "" {
		p.line(p.style(line, faint))
	}
	for i, row := range t.Rows {
		if len(row.Rest) > 0 {
			p.wrap(between+padded(cells[i][0], wide[0])+between, p.set.Text(row.Rest))
			continue
		}
		line := ""
		for _, k := range shown {
			line += between + padded(cut(cells[i][k], wide[k]), wide[k])
		}
		p.line(line)
	}
	for i, note := range t.Notes {
		if i == 0 {
			p.gap()
		}
		p.wrap("", p.set.Sentence(note))
	}
}

// cell is what stands in a cell; nothing where there is nothing to say.
func (p *printer) cell(row block.Row, column int) string {
	if column >= len(row.Cells) || !row.Cells[column].Known() {
		return ""
	}
	return p.set.Value(row.Cells[column])
}

// fitting are the columns that there is room for, of those in which anything stands.
func (p *printer) fitting(t block.Table, columns, wide []int, used []bool) []int {
	var list []int
	total := 0
	for k := range columns {
		if used[k] || k == 0 {
			list = append(list, k)
			total += len(between) + wide[k]
		}
	}
	for total > p.look.Width && len(list) > 2 {
		last := len(list) - 1
		for i := len(list) - 1; i > 0; i-- {
			if t.Columns[columns[list[i]]].Rank > t.Columns[columns[list[last]]].Rank {
				last = i
			}
		}
		total -= len(between) + wide[list[last]]
		list = append(list[:last:last], list[last+1:]...)
	}
	return list
}

// narrow takes what the columns of a table lack from those that may be cut.
func (p *printer) narrow(t block.Table, columns, wide []int, used []bool) {
	over := -p.look.Width
	for k := range columns {
		if used[k] || k == 0 {
			over += len(between) + wide[k]
		}
	}
	for k, c := range columns {
		if least := t.Columns[c].Least; least > 0 && over > 0 {
			by := min(over, max(0, wide[k]-least))
			wide[k] -= by
			over -= by
		}
	}
}

// cut leaves n columns of a text.
func cut(text string, n int) string {
	if lipgloss.Width(text) <= n {
		return text
	}
	letters := []rune(text)
	for len(letters) > 0 && lipgloss.Width(string(letters)) > n-1 {
		letters = letters[:len(letters)-1]
	}
	return string(letters) + "…"
}
