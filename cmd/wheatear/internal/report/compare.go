package report

import (
	"fmt"
	"math"

	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/impedance"
)

// Comparison is two measurements with one jig, one against the other.
type Comparison struct {
	Good, Other Measurement
	Matters     float64 // relative difference that matters; 0 for any that is sure
	Differences []Compared
}

// Compared is one frequency. The difference is nil where one of the readings is
// not to be trusted.
type Compared struct {
	NominalHz   float64
	Good, Other *Reading
	*fixture.Difference
	Outcome result.Agreement
}

// Compare pairs the readings by frequency.
func (c *Comparison) Compare() error {
	for _, good := range c.Good.Readings {
		for _, other := range c.Other.Readings {
			if good.NominalHz != other.NominalHz {
				continue
			}
			d := Compared{NominalHz: good.NominalHz, Good: good, Other: other, Outcome: result.Unsure}
			if good.Trusted && other.Trusted && good.Model != nil && other.Model != nil {
				var err error
				if d.Difference, err = fixture.Compare(good.Corrected, other.Corrected, c.Element()); err != nil {
					return err
				}
			}
			c.Differences = append(c.Differences, d)
		}
	}
	if len(c.Differences) == 0 {
		return fmt.Errorf("no frequency is in both: read them at the same ones")
	}
	for i := range c.Differences {
		c.Differences[i].Outcome = c.outcome(c.Differences[i])
	}
	return nil
}

// outcome judges one frequency. Without a limit the risk of one per cent is shared
// out over all frequencies (Bonferroni).
func (c *Comparison) outcome(d Compared) result.Agreement {
	const risk = 0.01
	switch {
	case d.Difference == nil || math.IsNaN(d.Chance):
		return result.Unsure
	case c.Matters == 0 && d.Chance < risk/float64(len(c.Differences)):
		return result.Differs
	case c.Matters == 0:
		return result.Alike
	case d.Main.Low > -c.Matters && d.Main.High < c.Matters:
		return result.Alike
	case d.Main.Low > c.Matters || d.Main.High < -c.Matters:
		return result.Differs
	}
	return result.Unsure
}

// Verdict is that of all frequencies together.
func (c *Comparison) Verdict() result.Agreement {
	out := result.Alike
	for _, d := range c.Differences {
		switch d.Outcome {
		case result.Differs:
			return result.Differs
		case result.Unsure:
			out = result.Unsure
		}
	}
	return out
}

func (c *Comparison) findings() []finding.Finding {
	both := Measurement{}
	both.AddFindings(c.Good.Findings)
	both.AddFindings(c.Other.Findings)
	return both.Findings
}

// Element is what all frequencies are compared by: what the good one is told by.
func (c *Comparison) Element() impedance.Element {
	var list []impedance.Reading
	for _, r := range c.Good.Readings {
		list = append(list, r.Corrected.Reading)
	}
	return impedance.MainOf(list, c.Good.As)
}

// Document is the comparison as it is printed, kept and told.
func (c *Comparison) Document() *result.Comparison {
	good, other := c.Good.Document(), c.Other.Document()
	doc := &result.Comparison{Schema: result.ComparisonSchema, Jig: good.Jig, Calibration: good.Calibration, As: good.As, Verdict: c.Verdict(),
		Differences: []result.Difference{}, Good: good.Readings, Readings: other.Readings, Findings: listed(c.findings()),
		RestsOn: other.RestsOn, GoodFiles: c.Good.Files}
	if c.Matters > 0 {
		doc.Matters = &c.Matters
	}
	for _, d := range c.Differences {
		out := result.Difference{FreqHz: d.NominalHz, Verdict: d.Outcome}
		if d.Difference != nil {
			name, circuit := d.Element.Key(), d.Element.Circuit
			if circuit != impedance.NoCircuit {
				out.Circuit = &circuit
			}
			out.Quantity, out.Relative, out.Loss, out.Chance = &name, &d.Main, &d.Difference.Loss, orNull(d.Chance)
		}
		doc.Differences = append(doc.Differences, out)
	}
	return doc
}
