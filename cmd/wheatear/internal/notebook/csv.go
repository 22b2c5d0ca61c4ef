package notebook

import (
	"context"
	"encoding/json"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"io"
	"strconv"
	"strings"

	"example.org/wheatear/cmd/wheatear/internal/cells"
	"example.org/wheatear/lockin/uncertain"
)

// figures are the quantities of a reading in a CSV file, a column for the value and
// one for its standard uncertainty each.
var figures = []struct {
	name, unit string
	of         func(*result.Reading) uncertain.Quantity
}{
	{"re", "ohm", func(r *result.Reading) uncertain.Quantity { return r.Z.Re }},
	{"im", "ohm", func(r *result.Reading) uncertain.Quantity { return r.Z.Im }},
	{"modulus", "ohm", func(r *result.Reading) uncertain.Quantity { return r.Z.Modulus }},
	{"series_r", "ohm", func(r *result.Reading) uncertain.Quantity { return r.Series.R }},
	{"series_c", "f", func(r *result.Reading) uncertain.Quantity { return r.Series.C }},
	{"series_l", "h", func(r *result.Reading) uncertain.Quantity { return r.Series.L }},
	{"parallel_r", "ohm", func(r *result.Reading) uncertain.Quantity { return r.Parallel.R }},
	{"parallel_c", "f", func(r *result.Reading) uncertain.Quantity { return r.Parallel.C }},
	{"parallel_l", "h", func(r *result.Reading) uncertain.Quantity { return r.Parallel.L }},
	{"q", "", func(r *result.Reading) uncertain.Quantity { return r.Q }},
	{"d", "", func(r *result.Reading) uncertain.Quantity { return r.D }},
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
	return append(h, "findings", "main_element", "main_circuit", "main_si", "main_u_si", "main_low_si", "main_high_si", "main_unit")
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
		result.Choose(doc.Readings, doc.As)
		for i := range doc.Readings {
			if err := out.Write(row(e, &doc.Readings[i])); err != nil {
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

func row(e *Entry, r *result.Reading) []string {
	verdict, dominant := "", ""
	if r.Verdict != nil {
		verdict = string(r.Verdict.Outcome)
	}
	if r.Dominant != nil {
		dominant = string(*r.Dominant)
	}
	line := []string{
		strconv.FormatInt(e.ID, 10), e.Time.Format(timeLayout), string(e.Kind), cells.Text(e.Label), cells.Text(e.Note), cells.Text(e.JigName), verdict,
		cells.Number(r.NominalHz), string(r.State), strconv.FormatBool(r.Trusted), dominant, number(r.Level.PartVRMS), number(r.Level.PartARMS),
	}
	for _, f := range figures {
		q := f.of(r)
		line = append(line, cells.Number(q.Value), cells.Number(q.U))
	}
	var codes []string
	for _, c := range r.Findings {
		codes = append(codes, string(c))
	}
	main, q := r.Main.What()
	return append(line, strings.Join(codes, " "), main.Letter(), string(main.Circuit),
		cells.Number(q.Value), cells.Number(q.U), cells.Number(q.Low), cells.Number(q.High), main.Unit())
}

// number is empty where there is none.
func number(v *float64) string {
	if v == nil {
		return ""
	}
	return cells.Number(*v)
}
