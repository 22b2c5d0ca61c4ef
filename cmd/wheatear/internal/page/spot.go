package page

import (
	"encoding/json"

	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/uncertain"
)

// SpotVerdict holds what was told of a part in a board against its nominal value: by the
// tolerance that was given, else by what is usual of its kind.
type SpotVerdict struct {
	Word string `json:"word"` // within, too low, too high or undetermined
	Text string `json:"text"`
}

// spotVerdict is nil where nothing is expected or no document came of it.
func (t *Task) spotVerdict() *SpotVerdict {
	var doc struct {
		Schema string              `json:"schema"`
		Unit   string              `json:"unit"`
		Told   bool                `json:"told"`
		Value  *uncertain.Quantity `json:"value"`
	}
	if json.Unmarshal(t.Result, &doc) != nil || doc.Schema != "wheatear.incircuit/1" {
		return nil
	}
	expected, ok := nominal(t.Asked.Expect, doc.Unit)
	if !ok {
		return nil
	}
	if !doc.Told || doc.Value == nil {
		return &SpotVerdict{"undetermined", "the surroundings leave no value to hold against " + expected.String()}
	}
	limits := expected.Limits()
	v := &SpotVerdict{"undetermined", "the interval reaches across a limit of " + expected.String()}
	switch {
	case limits.Contain(doc.Value.Low) && limits.Contain(doc.Value.High):
		v = &SpotVerdict{"within", "within " + expected.String()}
	case doc.Value.High < limits.Low:
		v = &SpotVerdict{"too low", "below " + expected.String()}
	case doc.Value.Low > limits.High:
		v = &SpotVerdict{"too high", "above " + expected.String()}
	}
	return v
}

// nominal reads what is expected, with the tolerance that is usual where none is given:
// 20 % of coils and of capacitors from 1 µF, 10 % of smaller ones, 5 % of resistors
// (common practice, no source).
func nominal(text, unit string) (parts.Marking, bool) {
	list, err := parts.Read(text, parts.None)
	if err != nil {
		return parts.Marking{}, false
	}
	for _, m := range list {
		if m.Unit.String() != unit || m.Value == 0 {
			continue
		}
		if !m.Tolerance.Given() {
			usual := map[parts.Unit]float64{parts.Ohm: 0.05, parts.Henry: 0.2, parts.Farad: 0.1}[m.Unit]
			if m.Unit == parts.Farad && m.Value >= 1e-6 {
				usual = 0.2
			}
			m.Tolerance = parts.Symmetric(usual)
		}
		return m, true
	}
	return parts.Marking{}, false
}
