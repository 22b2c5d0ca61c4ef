package cli

import (
	"fmt"
	"slices"

	"example.org/wheatear/cmd/wheatear/internal/report"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/parts"
)

// expected is a flag for the part that a reading is judged by, with its tolerance.
type expected struct {
	readings []parts.Marking
	text     string
}

func (e *expected) Set(text string) error {
	readings, err := parts.Read(text, parts.None)
	if err != nil {
		return err
	}
	readings = slices.DeleteFunc(readings, func(m parts.Marking) bool { return !m.Tolerance.Given() || m.Value == 0 })
	if len(readings) == 0 {
		return fmt.Errorf("%q has no tolerance to judge by (F and H are units): write it as 100nJ or 100nF/5%%", text)
	}
	e.readings, e.text = readings, text
	return nil
}

func (e *expected) String() string { return e.text }
func (e *expected) Type() string   { return "PART" }

// judge holds a reading against what is expected, if anything is.
func (a *app) judge(m *report.Measurement, r *report.Reading) error {
	if len(m.Expected) == 0 {
		return nil
	}
	j, err := r.Corrected.Judge(m.Expected, parts.Rule{}, impedance.Config{})
	if err != nil {
		return err
	}
	r.Judgement = j
	if j.Outcome != parts.Pass {
		a.status.join(OtherVerdict)
	}
	return nil
}
