package tell

import (
	"strconv"
	"strings"

	"example.org/wheatear/lockin/finding"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/uncertain"
)

// column is one of a table of readings.
type column struct {
	block.Column
	of func(r *result.Reading, z impedance.Reading) block.Value
}

// quantity is a column of one quantity.
func quantity(key, name, unit string, rank int, of func(z impedance.Reading) uncertain.Quantity) column {
	return column{block.Column{Key: key, Name: name, Unit: unit, Kind: block.Quantities, Rank: rank},
		func(_ *result.Reading, z impedance.Reading) block.Value { return block.Of(of(z), unit) }}
}

// word is a column of a file only.
func word(key string, of func(r *result.Reading) string) column {
	return column{block.Column{Key: key}, func(r *result.Reading, _ impedance.Reading) block.Value { return block.Word(of(r)) }}
}

// columnsOf are those of a table of readings that are told by one element. All that is
// known of a reading goes into a file; a person sees what has a name.
func columnsOf(e impedance.Element) []column {
	type z = impedance.Reading
	type q = uncertain.Quantity
	modulus, esr := "|Z|", ""
	if e.Kind == impedance.Capacitor {
		esr = "ESR"
	}
	if e.Kind == impedance.ModulusZ {
		modulus = "" // it is the column before
	}
	return []column{
		{block.Column{Key: "frequency_nominal", Unit: "Hz", Name: "frequency"}, func(r *result.Reading, _ z) block.Value { return block.PlaceHz(r.NominalHz) }},
		{block.Column{Name: e.Words()}, func(r *result.Reading, z z) block.Value { return toldBy(r, z, e) }},
		word("state", func(r *result.Reading) string { return string(r.State) }),
		word("trusted", func(r *result.Reading) string { return strconv.FormatBool(r.Trusted) }),
		word("dominant", func(r *result.Reading) string {
			if r.Dominant == nil {
				return ""
			}
			return string(*r.Dominant)
		}),
		quantity("frequency", "", "Hz", 0, func(r z) q { return r.FreqHz }),
		quantity("z_modulus", modulus, "Ω", 3, func(r z) q { return r.Modulus }),
		quantity("z_phase", "phase", "rad", 2, func(r z) q { return r.Phase }),
		quantity("z_re", "", "Ω", 0, func(r z) q { return r.Re }),
		quantity("z_im", "", "Ω", 0, func(r z) q { return r.Im }),
		quantity("y_modulus", "", "S", 0, func(r z) q { return r.Y.Modulus }),
		quantity("y_g", "", "S", 0, func(r z) q { return r.Y.G }),
		quantity("y_b", "", "S", 0, func(r z) q { return r.Y.B }),
		quantity("series_r", esr, "Ω", 1, func(r z) q { return r.Series.R }),
		quantity("series_c", "", "F", 0, func(r z) q { return r.Series.C }),
		quantity("series_l", "", "H", 0, func(r z) q { return r.Series.L }),
		quantity("parallel_r", "", "Ω", 0, func(r z) q { return r.Parallel.R }),
		quantity("parallel_c", "", "F", 0, func(r z) q { return r.Parallel.C }),
		quantity("parallel_l", "", "H", 0, func(r z) q { return r.Parallel.L }),
		quantity("q", "", "1", 0, func(r z) q { return r.Q }),
		quantity("d", "", "1", 0, func(r z) q { return r.D }),
		{block.Column{Key: "part_v_rms"}, func(r *result.Reading, _ z) block.Value { return block.Number(block.OrNaN(r.Level.PartVRMS), "", 17) }},
		{block.Column{Key: "part_a_rms"}, func(r *result.Reading, _ z) block.Value { return block.Number(block.OrNaN(r.Level.PartARMS), "", 17) }},
		word("findings", func(r *result.Reading) string { return joined(r.Findings, " ") }),
		{block.Column{Key: "main", Unit: "SI", Kind: block.Quantities}, func(r *result.Reading, _ z) block.Value {
			e, q := r.Main.What()
			return block.Of(q, e.Unit())
		}},
		word("main_element", func(r *result.Reading) string {
			e, _ := r.Main.What()
			return e.Letter()
		}),
		word("main_circuit", func(r *result.Reading) string {
			e, _ := r.Main.What()
			return string(e.Circuit)
		}),
		word("main_unit", func(r *result.Reading) string {
			e, _ := r.Main.What()
			return e.Unit()
		}),
	}
}

// Readings is the table of readings that have been given a main figure together.
func Readings(list []result.Reading) block.Table {
	return readings(list, result.ElementOf(list))
}

// readings is the table of readings that are told by one element.
func readings(list []result.Reading, e impedance.Element) block.Table {
	var t block.Table
	columns := columnsOf(e)
	if e.Kind == impedance.Resistor && e.Circuit == impedance.SeriesCircuit && mostlyCapacitors(list) {
		columns[1].Name = "ESR"
	}
	for _, c := range columns {
		t.Columns = append(t.Columns, c.Column)
	}
	for i := range list {
		r := &list[i]
		z := r.Reading()
		var row block.Row
		for _, c := range columns {
			row.Cells = append(row.Cells, c.of(r, z))
		}
		if !r.Trusted {
			row.Rest = because(r)
		}
		t.Rows = append(t.Rows, row)
	}
	t.Notes = otherwise(list, e)
	return t
}

// mostlyCapacitors reports whether more readings are of a capacitor than not.
func mostlyCapacitors(list []result.Reading) bool {
	n := 0
	for _, r := range list {
		if r.Trusted && r.Dominant != nil && *r.Dominant == impedance.Capacitor {
			n++
		}
	}
	return 2*n > len(list)
}

// otherwise says at how many frequencies something else leads than all are told by.
func otherwise(list []result.Reading, e impedance.Element) (out []block.Text) {
	for _, kind := range []impedance.Kind{impedance.Capacitor, impedance.Inductor, impedance.Resistor} {
		n := 0
		for _, r := range list {
			if r.Trusted && r.State == impedance.OK && r.Dominant != nil && *r.Dominant == kind {
				n++
			}
		}
		if n > 0 && kind != e.Kind {
			out = append(out, block.Say("Mostly a %v at %v of %v", string(kind), n, block.Count(len(list), "frequency")))
		}
	}
	return out
}

// toldBy is what a reading shows in the column of the element that all are told by: the
// value, or why it has none.
func toldBy(r *result.Reading, z impedance.Reading, e impedance.Element) block.Value {
	switch main, q := r.Main.What(); {
	case main == e:
		return block.Of(q, e.Unit())
	case z.State != impedance.OK:
		return block.Value{Text: block.Say("%v, |Z|\u00a0%v", string(z.State), block.Of(z.Modulus, "Ω"))}
	case z.Dominance.Kind != impedance.Undecided:
		return block.Word("none: " + string(z.Dominance.Kind) + " here")
	}
	return block.Word("none here")
}

func joined(codes []finding.Code, between string) string {
	var list []string
	for _, c := range codes {
		list = append(list, string(c))
	}
	return strings.Join(list, between)
}
