package tell

import (
	"slices"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/lockin/uncertain"
)

// provenance says which jig and which calibration a result rests on.
func provenance(jig string, calibration *string, b *result.Basis) block.Provenance {
	var p block.Provenance
	add := func(key, name string, v block.Value) {
		if v.Known() {
			p.List = append(p.List, block.Figure{Key: key, Name: name, Value: v})
		}
	}
	add("jig", "jig", block.Word(jig))
	p.Short = block.Say("%v, uncorrected", jig)
	if b != nil {
		add("channels", "inputs carry", words(b.Channels))
		tolerance := b.ReferenceOhm * b.ReferenceTolerance
		add("reference", "reference", block.Of(uncertain.Quantity{Value: b.ReferenceOhm, Low: b.ReferenceOhm - tolerance, High: b.ReferenceOhm + tolerance}, "Ω"))
	}
	if calibration == nil {
		add("calibration", "calibration", block.Word("none"))
	} else {
		add("calibration", "calibration", block.Word(*calibration))
		p.Short = block.Say("%v, corrected by %v", jig, *calibration)
		if b != nil && b.Calibrated != nil {
			c := b.Calibrated
			if !c.Date.IsZero() {
				add("calibrated", "made", block.Moment(c.Date))
				p.Short = block.Say("%v of %v", p.Short, c.Date.Format("2006-01-02"))
			}
			add("card", "card", block.Word(c.Card))
			add("calibrated_frequencies", "frequencies", block.Number(float64(c.Frequencies), "", 9))
			add("standards", "standards", words(c.Standards))
		}
	}
	if b != nil {
		add("recordings", "recordings", words(b.Recordings))
	}
	return p
}

// words is a list of words as one, each said once: a recording of many tones is named for
// each.
func words(list []string) block.Value {
	var all []block.Text
	for i, w := range list {
		if !slices.Contains(list[:i], w) {
			all = append(all, block.Say("%v", w))
		}
	}
	return block.Value{Quantity: uncertain.Absent(), Text: block.Join(all, ", ")}
}
