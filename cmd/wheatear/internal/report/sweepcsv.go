package report

import (
	"io"
	"strconv"
	"strings"

	"example.org/wheatear/cmd/wheatear/internal/cells"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/uncertain"
)

// SweepCSV writes a sweep for spreadsheets (RFC 4180): a header, in which every
// name ends in its unit, and a line for each point, in full precision. What cannot
// be told is an empty field; state, trusted and findings say why.
func SweepCSV(w io.Writer, s *Sweep) error {
	out := cells.NewWriter(w)
	if err := out.Write(csvHeader()); err != nil {
		return err
	}
	for _, r := range s.Readings {
		if err := out.Write(r.csvRow()); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

// csvColumn is a quantity, of which there are four columns.
type csvColumn struct {
	name, unit string
	of         func(r impedance.Report) uncertain.Quantity
}

func csvColumns() []csvColumn {
	type q = uncertain.Quantity
	return []csvColumn{
		{"frequency", "hz", func(r impedance.Report) q { return r.Freq }},
		{"z_modulus", "ohm", func(r impedance.Report) q { return r.Z.Modulus }},
		{"z_phase", "rad", func(r impedance.Report) q { return r.Z.Phase }},
		{"z_re", "ohm", func(r impedance.Report) q { return r.Z.Re }},
		{"z_im", "ohm", func(r impedance.Report) q { return r.Z.Im }},
		{"series_r", "ohm", func(r impedance.Report) q { return r.Series.R }},
		{"series_c", "f", func(r impedance.Report) q { return r.Series.C }},
		{"series_l", "h", func(r impedance.Report) q { return r.Series.L }},
		{"parallel_r", "ohm", func(r impedance.Report) q { return r.Parallel.R }},
		{"parallel_c", "f", func(r impedance.Report) q { return r.Parallel.C }},
		{"parallel_l", "h", func(r impedance.Report) q { return r.Parallel.L }},
		{"q", "1", func(r impedance.Report) q { return r.Q }},
		{"d", "1", func(r impedance.Report) q { return r.D }},
	}
}

func csvHeader() []string {
	head := []string{"frequency_nominal_hz", "state", "trusted", "dominant"}
	for _, c := range csvColumns() {
		for _, kind := range []string{"", "_u", "_low", "_high"} {
			head = append(head, c.name+kind+"_"+c.unit)
		}
	}
	return append(head, "part_v_rms", "part_a_rms", "findings")
}

func (r *Reading) csvRow() []string {
	reported := r.reported()
	dominant := ""
	if reported.Dominant != nil {
		dominant = string(*reported.Dominant)
	}
	row := []string{cells.Number(r.NominalHz), string(reported.State), strconv.FormatBool(r.Trusted), dominant}
	for _, c := range csvColumns() {
		q := c.of(reported)
		row = append(row, cells.Number(q.Value), cells.Number(q.U), cells.Number(q.Low), cells.Number(q.High))
	}
	var list []string
	for _, c := range codes(r.Findings) {
		list = append(list, string(c))
	}
	return append(row, cells.Number(r.Level.VoltRMS), cells.Number(r.Level.AmpereRMS), strings.Join(list, " "))
}
