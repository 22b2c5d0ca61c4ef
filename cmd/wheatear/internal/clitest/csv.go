package clitest

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"
)

// CSV reads a file as strictly as RFC 4180 is written: every line ends in CR LF, the
// last one too; all have as many fields as the first; a field that holds a comma, a quote
// or an end of line stands in quotes, in which a quote is doubled, and nothing stands
// beside them. Letters beyond ASCII are UTF-8 (RFC 7111).
func CSV(text []byte) ([][]string, error) {
	if !utf8.Valid(text) {
		return nil, fmt.Errorf("no UTF-8")
	}
	var rows [][]string
	for rest := string(text); rest != ""; {
		row, after, err := csvRow(rest)
		if err != nil {
			return rows, fmt.Errorf("line %d: %w", len(rows)+1, err)
		}
		rows, rest = append(rows, row), after
		if len(row) != len(rows[0]) {
			return rows, fmt.Errorf("line %d has %d fields, the first %d", len(rows), len(row), len(rows[0]))
		}
	}
	return rows, nil
}

func csvRow(rest string) (row []string, after string, err error) {
	for {
		var field string
		if field, rest, err = csvField(rest); err != nil {
			return row, rest, err
		}
		row = append(row, field)
		switch {
		case strings.HasPrefix(rest, "\r\n"):
			return row, rest[2:], nil
		case strings.HasPrefix(rest, ","):
			rest = rest[1:]
		default:
			return row, rest, fmt.Errorf("after %q comes %.10q and neither a comma nor CR LF", field, rest)
		}
	}
}

func csvField(rest string) (field, after string, err error) {
	if !strings.HasPrefix(rest, `"`) {
		end := strings.IndexAny(rest, ",\"\r\n")
		if end < 0 {
			return rest, "", fmt.Errorf("the last line has no end")
		}
		return rest[:end], rest[end:], nil
	}
	var b strings.Builder
	for rest = rest[1:]; ; {
		end := strings.IndexByte(rest, '"')
		if end < 0 {
			return b.String(), "", fmt.Errorf("a quote is not closed")
		}
		b.WriteString(rest[:end])
		if rest = rest[end+1:]; !strings.HasPrefix(rest, `"`) {
			return b.String(), rest, nil
		}
		b.WriteByte('"')
		rest = rest[1:]
	}
}

// csvUnits are the ends of the names of columns that hold numbers with a unit.
var csvUnits = []string{"hz", "ohm", "f", "h", "rad", "v_rms", "a_rms", "1", "s", "si"}

// csvPlain are numbers without a unit.
var csvPlain = []string{"number", "id", "risk", "bin_chance", "q", "q_u", "d", "d_u"}

// CSVTable checks a file with a header: names are there and differ, every column of
// numbers says its unit or needs none, and no cell is a formula to a spreadsheet.
func CSVTable(text []byte) error {
	rows, err := CSV(text)
	if err != nil {
		return err
	}
	if len(rows) == 0 {
		return fmt.Errorf("there is no header")
	}
	for i, name := range rows[0] {
		if name == "" || slices.Contains(rows[0][:i], name) {
			return fmt.Errorf("column %d is called %q", i+1, name)
		}
		united := slices.Contains(csvPlain, name) || slices.ContainsFunc(csvUnits, func(unit string) bool { return strings.HasSuffix(name, "_"+unit) })
		for n, row := range rows[1:] {
			_, err := strconv.ParseFloat(row[i], 64)
			switch {
			case row[i] == "" || united && err == nil:
			case united:
				return fmt.Errorf("line %d, %s: %q is no number", n+2, name, row[i])
			case err == nil && !csvWords(name):
				return fmt.Errorf("%s holds the number %s and no unit", name, row[i])
			case strings.ContainsRune("=+-@\t\r", rune(row[i][0])):
				return fmt.Errorf("line %d, %s: %q is a formula", n+2, name, row[i])
			}
		}
	}
	return nil
}

// csvWords reports whether a column holds what people call something, which may look
// like a number.
func csvWords(name string) bool {
	return slices.Contains([]string{"name", "label", "note", "expected", "bin"}, name)
}
