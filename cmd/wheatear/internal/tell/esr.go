package tell

import (
	"math"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/parts"
)

// Frequencies at which the trade asks for the ESR of an electrolytic, each within a tenth;
// of 100 and 120 Hz the better known.
var esrHz = [][]float64{{100, 120}, {1e3}, {10e3}, {20e3, 40e3, 80e3}}

// fewKilohertz is from where on typical values of ESR are for.
const fewKilohertz = 3e3

// ratedV are the rated voltages of which limits are given.
var ratedV = []float64{6.3, 16, 35, 63}

// esr sets the ESR of an electrolytic over frequency beside typical limits; nothing of
// other parts.
func esr(list []result.Reading) []block.Block {
	farad := 0.0
	for _, r := range list {
		z := r.Reading()
		if r.Trusted && kind(z) == impedance.Capacitor && parts.LikelyElectrolytic(z.Series.C.Value, z.D.Low) {
			farad = z.Series.C.Value
			break
		}
	}
	if farad == 0 {
		return nil
	}
	t := block.Table{Title: "ESR, beside the most that a new part has (common practice, from memory)",
		Columns: []block.Column{{Key: "frequency", Name: "frequency"}, {Key: "esr", Name: "ESR", Kind: block.Quantities, Unit: "Ω", Rank: 1}}}
	for _, v := range ratedV {
		t.Columns = append(t.Columns, block.Column{Name: "rated " + map[float64]string{6.3: "6.3", 16: "16", 35: "35", 63: "63"}[v] + " V", Unit: "Ω", Rank: 3})
	}
	t.Columns = append(t.Columns, block.Column{Name: "typical", Unit: "Ω", Rank: 2})
	highest := 0.0
	for _, names := range esrHz {
		r := nearestTo(list, names)
		if r == nil {
			continue
		}
		highest = r.NominalHz
		row := block.Row{Cells: []block.Value{block.PlaceHz(r.NominalHz), block.Of(r.Reading().Series.R, "Ω")}}
		for _, v := range ratedV {
			row.Cells = append(row.Cells, block.Rough(parts.NewElectrolytic{Farad: farad, RatedV: v}.LimitESR(r.NominalHz), "Ω"))
		}
		typical := block.Word("")
		if r.NominalHz > fewKilohertz {
			typical = block.Rough(parts.NewElectrolytic{Farad: farad}.TypicalESR(), "Ω")
		}
		t.Rows = append(t.Rows, block.Row{Cells: append(row.Cells, typical)})
	}
	if len(t.Rows) == 0 {
		return nil
	}
	t.Notes = append(t.Notes, block.Say("Limits are the usual tan δ at 120 Hz of new parts of %v, typical is a general-purpose part within a factor of two", block.Rough(farad, "F")))
	if highest > 0 {
		t.Notes = append(t.Notes, block.Say("Standards ask for ESR at %v, which sound cards do not play; the highest here is %v", block.Hz(100e3), block.PlaceHz(highest)))
	}
	return []block.Block{t}
}

// nearestTo is the reading nearest to the first of some frequencies that has one within a
// tenth; nil where none has.
func nearestTo(list []result.Reading, names []float64) (best *result.Reading) {
	const tenth = 0.1
	for _, hz := range names {
		least := tenth
		for i, r := range list {
			if d := math.Abs(r.NominalHz/hz - 1); r.Trusted && r.State == impedance.OK && d <= least {
				best, least = &list[i], d
			}
		}
		if best != nil {
			return best
		}
	}
	return nil
}
