package tell

import (
	"math"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/lockin/finding"
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
		cells = append(cells, block.Say("%v\u00a0%v", other.Symbol(), block.Of(q, other.Unit())))
	}
	cells = append(cells, loudest(r))
	if f := Findings(m.Findings); len(f.List) > 0 && f.List[0].Severity != finding.Note {
		cells = append(cells, block.Say(string(f.List[0].Code)))
	}
	return cells
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
