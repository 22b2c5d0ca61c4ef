package notebook

import (
	"context"
	"encoding/json"
	"io"
	"strconv"
	"strings"

	"example.org/wheatear/cmd/wheatear/internal/cells"
)

// figures are the quantities of a reading in a CSV file, a column for the value and
// one for its standard uncertainty each.
var figures = []struct {
	name, unit string
	of         func(*readingDoc) *quantityDoc
}{
	{"re", "ohm", func(r *readingDoc) *quantityDoc { return r.Z.Re }},
	{"im", "ohm", func(r *readingDoc) *quantityDoc { return r.Z.Im }},
	{"modulus", "ohm", func(r *readingDoc) *quantityDoc { return r.Z.Modulus }},
	{"series_r", "ohm", func(r *readingDoc) *quantityDoc { return r.Series.R }},
	{"series_c", "f", func(r *readingDoc) *quantityDoc { return r.Series.C }},
	{"series_l", "h", func(r *readingDoc) *quantityDoc { return r.Series.L }},
	{"parallel_r", "ohm", func(r *readingDoc) *quantityDoc { return r.Parallel.R }},
	{"parallel_c", "f", func(r *readingDoc) *quantityDoc { return r.Parallel.C }},
	{"parallel_l", "h", func(r *readingDoc) *quantityDoc { return r.Parallel.L }},
	{"q", "", func(r *readingDoc) *quantityDoc { return r.Q }},
	{"d", "", func(r *readingDoc) *quantityDoc { return r.D }},
}

// header names the columns; the unit is the end of the name.
func header() []string {
	h := []string{"id", "time_utc", "kind", "label", "note", "jig", "verdict", "frequency_hz", "state", "trusted", "dominant", "part_v_rms", "part_a_rms"}
	for _, f := range figures {
		unit := ""
		if f.unit != "" {
			unit = "_" + f.unit
		}
		h = append(h, f.name+unit, f.name+"_u"+unit)
	}
	return append(h, "findings")
}

// ExportCSV writes the readings in the entries that are meant, a line each, the
// oldest first, at full precision, and returns how many there were. Entries
// without readings are left out. See the package cells for the form, and for labels
// and notes that look like formulas.
func (n *Notebook) ExportCSV(ctx context.Context, w io.Writer, f Filter) (count int, err error) {
	out := cells.NewWriter(w)
	if err := out.Write(header()); err != nil {
		return 0, err
	}
	err = n.each(ctx, f, func(e *Entry) error {
		var doc resultDoc
		if err := json.Unmarshal(e.Result, &doc); err != nil {
			return &Error{n.file, ErrDamaged}
		}
		for _, r := range doc.Readings {
			if err := out.Write(row(e, &r)); err != nil {
				return err
			}
			count++
		}
		return nil
	})
	out.Flush()
	if err == nil {
		err = out.Error()
	}
	return count, err
}

func row(e *Entry, r *readingDoc) []string {
	line := []string{
		strconv.FormatInt(e.ID, 10), e.Time.Format(timeLayout), string(e.Kind), cells.Text(e.Label), cells.Text(e.Note), cells.Text(e.JigName), r.Verdict.Outcome,
		number(&r.NominalHz), r.State, strconv.FormatBool(r.Trusted), r.Dominant, number(r.Level.PartVRMS), number(r.Level.PartARMS),
	}
	for _, f := range figures {
		q := f.of(r)
		if q == nil {
			q = &quantityDoc{}
		}
		line = append(line, number(q.Value), number(q.U))
	}
	return append(line, strings.Join(r.Findings, " "))
}

// number is empty where there is none.
func number(v *float64) string {
	if v == nil {
		return ""
	}
	return cells.Number(*v)
}
