// Package cells has what all CSV files of the program have in common (RFC 4180, UTF-8,
// lines ending in CR LF): numbers in full with a decimal point whatever the language of
// the computer, an empty cell for what cannot be told, and texts that a spreadsheet
// takes for texts.
package cells

import (
	"encoding/csv"
	"io"
	"math"
	"strconv"
	"strings"
)

// NewWriter writes lines as RFC 4180 has them.
func NewWriter(w io.Writer) *csv.Writer {
	out := csv.NewWriter(w)
	out.UseCRLF = true
	return out
}

// Number is a number in full, or nothing for what is none or has no end.
func Number(v float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return ""
	}
	return strconv.FormatFloat(v, 'g', -1, 64)
}

// formula are the signs with which a cell begins that spreadsheets compute instead of
// showing it, and the sign that says it is a text.
const formula = "=+-@\t\r'"

// Text is a text that people wrote, such as the name of a part. Spreadsheets compute a
// cell that begins with =, +, -, @ or a tabulator, and a name may come from anybody: such
// a text gets an apostrophe before it, and so does one that begins with an apostrophe,
// so that Original always knows. Common practice, no source.
func Text(text string) string {
	if text != "" && strings.IndexByte(formula, text[0]) >= 0 {
		return "'" + text
	}
	return text
}

// Original is the text that Text was given.
func Original(cell string) string {
	if len(cell) > 1 && cell[0] == '\'' && strings.IndexByte(formula, cell[1]) >= 0 {
		return cell[1:]
	}
	return cell
}
