// Package csv sets the tables of blocks for spreadsheets (RFC 4180): a head, in which
// every name ends in its unit, and a line for each row, in full precision. What is not
// known is an empty field.
package csv

import (
	"io"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/cells"
	"example.org/wheatear/cmd/wheatear/internal/render/typeset"
)

// units are how the ends of names call them.
var units = map[string]string{"Ω": "ohm", "F": "f", "H": "h", "S": "s", "Hz": "hz", "rad": "rad", "s": "s", "V": "v", "A": "a", "1": "1", "SI": "si", block.Share: "1"}

// Write sets the first table that has columns for files.
func Write(w io.Writer, list []block.Block) error {
	for _, b := range list {
		if t, ok := b.(block.Table); ok && len(keyed(t)) > 0 {
			return table(w, t)
		}
	}
	return nil
}

// keyed are the columns of a file.
func keyed(t block.Table) (list []int) {
	for i, c := range t.Columns {
		if c.Key != "" {
			list = append(list, i)
		}
	}
	return list
}

func table(w io.Writer, t block.Table) error {
	out := cells.NewWriter(w)
	var head []string
	for _, i := range keyed(t) {
		c := t.Columns[i]
		unit := ""
		if u := units[c.Unit]; u != "" {
			unit = "_" + u
		}
		head = append(head, c.Key+unit)
		if c.Kind == block.Quantities {
			head = append(head, c.Key+"_u"+unit, c.Key+"_low"+unit, c.Key+"_high"+unit)
		}
	}
	if err := out.Write(head); err != nil {
		return err
	}
	var set typeset.Setter
	for _, row := range t.Rows {
		var line []string
		for _, i := range keyed(t) {
			v := row.Cells[i]
			q := v.Quantity
			switch {
			case t.Columns[i].Kind == block.Quantities:
				line = append(line, cells.Number(q.Value), cells.Number(q.U), cells.Number(q.Low), cells.Number(q.High))
			case v.Word != "" || len(v.Text) > 0:
				line = append(line, cells.Text(set.Value(v)))
			default:
				line = append(line, cells.Number(q.Value))
			}
		}
		if err := out.Write(line); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}
