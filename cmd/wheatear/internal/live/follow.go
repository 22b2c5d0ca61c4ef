package live

import "example.org/wheatear/lockin/fixture"

// Follower watches one part over many records for what no single one shows. The zero
// value is ready to use.
type Follower struct{ last *fixture.Observation }

// See compares a record with the one before, and adds to its findings where the volume of
// an input was changed meanwhile. From then on records are compared with the last one
// before the change, until something else changes too, as when a part is taken out.
func (w *Follower) See(jig *fixture.Jig, o *fixture.Observation, freqsHz []float64) {
	stepped := false
	for _, hz := range freqsHz {
		if w.last == nil {
			break
		}
		if f, ok := fixture.Stepped(jig, *w.last, *o, hz); ok {
			o.Analysis.Findings = append(o.Analysis.Findings, f)
			stepped = true
		}
	}
	if !stepped {
		kept := *o
		w.last = &kept
	}
}
