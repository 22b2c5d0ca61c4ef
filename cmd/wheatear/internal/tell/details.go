package tell

import (
	"cmp"
	"io"
	"maps"
	"math"
	"slices"
	"strconv"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/plot"
	"example.org/wheatear/cmd/wheatear/internal/render/typeset"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/uncertain"
)

// details are what was asked for beside a reading, and its drawing.
func details(m *result.Measurement, r *result.Reading) []block.Block {
	var out []block.Block
	if r.Budget != nil {
		out = append(out, budget(r))
	}
	if r.Explanation != nil {
		out = append(out, explanation(r))
	}
	if r.Trusted && r.State == impedance.OK {
		out = append(out, phasor(m, r))
	}
	return out
}

// budget says what the uncertainty of a reading is made of.
func budget(r *result.Reading) block.Table {
	t := block.Table{
		Title: "Uncertainty budget at " + (&typeset.Setter{}).Value(block.Hz(r.NominalHz)) + " (k = 1, and share of the variance)",
		Columns: []block.Column{{Name: "source"}, {Name: "real part", Unit: "Ω"}, {Name: "share"},
			{Name: "imaginary part", Unit: "Ω"}, {Name: "share"}, {Name: "what can be done", Rank: 9}},
	}
	re, im := bySource(r.Budget.Re), bySource(r.Budget.Im)
	names := slices.Collect(maps.Keys(re))
	for name := range im {
		if _, ok := re[name]; !ok {
			names = append(names, name)
		}
	}
	most := func(name string) float64 { return max(re[name].Share, im[name].Share) }
	const least = 1e-3 // of either variance
	names = slices.DeleteFunc(names, func(name string) bool { return most(name) < least })
	slices.SortFunc(names, func(a, b string) int {
		return cmp.Or(cmp.Compare(most(b), most(a)), cmp.Compare(a, b))
	})
	for _, name := range names {
		row := block.Row{Cells: []block.Value{block.Word(name)}}
		for _, s := range []result.Source{re[name], im[name]} {
			row.Cells = append(row.Cells, block.Rough(s.U, "Ω"), share(s.Share))
		}
		t.Rows = append(t.Rows, block.Row{Cells: append(row.Cells, block.Word(limits()[name].why))})
	}
	none := block.Value{Quantity: uncertain.Absent()}
	t.Rows = append(t.Rows, block.Row{Cells: []block.Value{block.Word("together"), block.Rough(r.Z.Re.U, "Ω"), none, block.Rough(r.Z.Im.U, "Ω"), none, none}})
	return t
}

func bySource(list []result.Source) map[string]result.Source {
	out := map[string]result.Source{}
	for _, s := range list {
		out[s.Source] = s
	}
	return out
}

// share is a part of a variance, to the nearest per cent.
func share(part float64) block.Value {
	if part < 0.005 {
		return block.Word("< 1\u00a0%")
	}
	return block.Number(math.Round(100*part)/100, block.Share, 3)
}

// explanation tells the way from the recording to the reading, step by step.
func explanation(r *result.Reading) block.Figures {
	x, z := r.Explanation, r.Reading()
	out := block.Figures{Title: "From the recording to the reading"}
	step := func(key, name, format string, args ...any) {
		out.List = append(out.List, block.Figure{Key: key, Name: name, Value: block.Value{Text: block.Say(format, args...)}})
	}
	for i, h := range x.Heard {
		step("input", "input "+strconv.Itoa(i+1), "%v, re full scale: in phase (0°) %v, quadrature (90°) %v; that is %v at %v", h.Carries,
			block.Of(h.InPhase, ""), block.Of(h.Quadrature, ""), dbfs(h.DBFS), block.Number(math.Round(1e6*h.PhaseRad)/1e6, "rad", 6))
	}
	step("ratio", "ratio", "V(part)/V(reference) = %v at %v", block.Number(block.OrNaN(x.Ratio.Modulus), "", 5), block.Number(block.OrNaN(x.Ratio.PhaseRad), "rad", 6))
	step("uncorrected", "uncorrected", "times the reference of %v: %v", block.Number(x.ReferenceOhm, "Ω", 6), rectangular(x.Uncorrected))
	if x.Moved != nil {
		by := block.Say("the priors of a jig, as there is no calibration")
		if len(x.Standards) > 0 {
			by = words(x.Standards).Text
		}
		step("corrected", "corrected", "by %v: %v, a change of %v of |Z|", by,
			rectangular(result.Rectangular{Re: &z.Re.Value, Im: &z.Im.Value}), block.Rough(*x.Moved, block.Share))
		step("z", "Z", "real part %v, imaginary part %v", block.Of(z.Re, "Ω"), block.Of(z.Im, "Ω"))
		if z.Fitting.Reason != "" {
			step("equivalent", "equivalent circuit", "%v: %v", string(z.Fitting.Circuit), string(z.Fitting.Reason))
		}
	}
	if l := x.Limit; l != nil {
		known := limits()[l.Source]
		part := map[string]string{"re": "real part", "im": "imaginary part"}[l.Of]
		frequency := known.frequency
		if z.Hint != impedance.NoHint {
			frequency = string(z.Hint)
		}
		step("limit", "limited by", "%v, %v of the variance of the %v. %v", l.Source, share(l.Share), part, known.why)
		step("frequency", "frequency", "%v", frequency)
		step("reference", "reference", "%v", known.reference)
	}
	return out
}

func rectangular(z result.Rectangular) block.Text {
	im := block.OrNaN(z.Im)
	sign := "+"
	if im < 0 {
		sign = "\u2212"
	}
	return block.Say("%v\u00a0"+sign+"\u00a0j\u00a0%v", block.Number(block.OrNaN(z.Re), "Ω", 5), block.Number(math.Abs(im), "Ω", 5))
}

// phasor is the reading as an arrow.
func phasor(m *result.Measurement, r *result.Reading) block.Chart {
	z := r.Reading()
	e, q := r.Main.What()
	var set typeset.Setter
	p := &plot.Phasor{
		Title: set.Text(block.Say("%v at %v", source(m.RestsOn), block.Hz(r.NominalHz))), Note: set.Text(provenance(m.Jig, m.Calibration, m.RestsOn).Short),
		Reading: z, Value: e.Symbol() + " " + set.Value(block.Of(q, e.Unit())),
		Parts: [2]string{"R " + set.Value(block.Of(z.Re, "Ω")), "X " + set.Value(block.Of(z.Im, "Ω"))},
	}
	return block.Chart{Shows: "The impedance as an arrow, with resistance and reactance as its legs.", Draw: func(w io.Writer, format plot.Format) error { return plot.DrawPhasor(w, p, format) }}
}

// Source is one source of uncertainty of both parts of an impedance together.
type Source struct {
	Name  string
	Share float64 // of the sum of both variances
	Why   string  // it acts, and what would settle it
}

// Sources are those of a reading's budget, the largest first; none without a budget.
func Sources(r *result.Reading) []Source {
	if r.Budget == nil {
		return nil
	}
	sum, total := map[string]float64{}, 0.0
	for _, s := range append(r.Budget.Re[:len(r.Budget.Re):len(r.Budget.Re)], r.Budget.Im...) {
		sum[s.Source] += s.U * s.U
		total += s.U * s.U
	}
	const least = 0.005
	var out []Source
	for _, name := range slices.Sorted(maps.Keys(sum)) {
		if part := sum[name] / total; part >= least {
			out = append(out, Source{name, part, limits()[name].why})
		}
	}
	slices.SortStableFunc(out, func(a, b Source) int { return cmp.Compare(b.Share, a.Share) })
	return out
}
