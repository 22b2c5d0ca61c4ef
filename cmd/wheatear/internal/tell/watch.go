package tell

import (
	"math"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/impedance"
)

// Watch tells the first reading in few words, the most important first: a renderer shows
// as many as there is room for.
func Watch(m *result.Measurement) []block.Text {
	r := &m.Readings[0]
	cells := []block.Text{block.Say("%v", block.Hz(r.NominalHz))}
	if !r.Trusted {
		return append(cells, because(r))
	}
	e, q := r.Main.What()
	cells = append(cells, block.Say("%v\u00a0%v", e.Symbol(), block.Of(q, e.Unit())))
	if other, q := e.Beside(r.Reading()); !q.IsAbsent() {
		symbol := other.Symbol()
		if symbol == "Rs" && e.Kind == impedance.Capacitor {
			symbol = "ESR"
		}
		cells = append(cells, block.Say("%v\u00a0%v", symbol, block.Of(q, other.Unit())))
	}
	cells = append(cells, loudest(r))
	if f := Findings(m.Findings); len(f.List) > 0 && f.List[0].Severity != finding.Note {
		cells = append(cells, block.Say(string(f.List[0].Code)))
	}
	return cells
}

// WatchOver puts the time before the cells of Watch, and the drift behind the main figure.
func WatchOver(cells []block.Text, at time.Time, drift *result.Drift) []block.Text {
	out := []block.Text{block.Say("%v", at.Format("15:04:05"))}
	for i, c := range cells {
		out = append(out, c)
		if i == 1 && drift != nil {
			out = append(out, block.Say("%v", PPMPerHour(drift.Relative)))
		}
	}
	return out
}

// loudest is the voltage across the part where it is known, else the louder input.
func loudest(r *result.Reading) block.Text {
	if r.Level.PartVRMS != nil {
		return block.Say("%v", block.Rough(*r.Level.PartVRMS, "V"))
	}
	most := math.Inf(-1)
	for _, input := range r.Inputs {
		if input.DBFS != nil {
			most = math.Max(most, *input.DBFS)
		}
	}
	return block.Say("%v", dbfs(&most))
}
