package report

import (
	"fmt"
	"io"
	"slices"
	"strings"
)

// table writes several readings, a line each. Where a line would be too long the
// last columns are left out.
func (m *Measurement) table(w io.Writer) {
	fmt.Fprintf(w, "%s, %s\n\n", m.source(), plural(len(m.Readings), "frequency"))
	rows := [][]string{{"", "reads as", "phase", "|Z|"}}
	for _, r := range m.Readings {
		rows = append(rows, r.row())
	}
	columns(w, rows, padLeft)
}

// row is a reading in a table.
func (r *Reading) row() []string {
	at := nominal(r.NominalHz)
	if !r.Trusted {
		return []string{at, "refused: " + r.refused()}
	}
	reading := r.Corrected.Reading
	row := []string{at, "—", "", ""}
	if list := equivalents(reading); len(list) > 0 {
		row[1] = short(list[0].main, list[0].unit)
	}
	if known(reading.Phase) {
		row[2] = short(degrees(reading.Phase), "°")
	}
	if known(reading.Modulus) {
		row[3] = short(reading.Modulus, "Ω")
	}
	return row
}

// columns writes rows with aligned columns, as many as fit. A row with fewer
// cells than the first has a last one that runs on. The first column is
// aligned by align.
func columns(w io.Writer, rows [][]string, align func(text string, n int) string) {
	const gap = 2
	widths := make([]int, len(rows[0]))
	for _, row := range rows {
		for i, cell := range row {
			if len(row) == len(rows[0]) || i < len(row)-1 {
				widths[i] = max(widths[i], width(cell))
			}
		}
	}
	for i := range widths {
		if !slices.ContainsFunc(rows[1:], func(row []string) bool { return i < len(row) && row[i] != "" }) {
			rows[0][i], widths[i] = "", 0
		}
	}
	shown, total := 0, gap
	for shown < len(widths) && total+widths[shown] <= Columns {
		total += widths[shown] + gap
		shown++
	}
	for _, row := range rows {
		line := ""
		for i, cell := range row {
			switch {
			case i >= shown, i > 0 && widths[i] == 0 && len(row) == len(widths):
			case i == 0:
				line += "  " + align(cell, widths[0])
			default:
				line += "  " + padRight(cell, widths[i])
			}
		}
		fmt.Fprintln(w, strings.TrimRight(line, " "))
	}
}
