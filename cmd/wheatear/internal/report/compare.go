package report

import (
	"bytes"
	"fmt"
	"io"
	"math"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/uncertain"
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
	Outcome Outcome
}

// Outcome of a comparison.
type Outcome string

// The outcomes.
const (
	Alike   Outcome = "alike"
	Differs Outcome = "differs"
	Unsure  Outcome = "undecided"
)

// Compare pairs the readings by frequency.
func (c *Comparison) Compare() error {
	for _, good := range c.Good.Readings {
		for _, other := range c.Other.Readings {
			if good.NominalHz != other.NominalHz {
				continue
			}
			d := Compared{NominalHz: good.NominalHz, Good: good, Other: other, Outcome: Unsure}
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
func (c *Comparison) outcome(d Compared) Outcome {
	const risk = 0.01
	switch {
	case d.Difference == nil || math.IsNaN(d.Chance):
		return Unsure
	case c.Matters == 0 && d.Chance < risk/float64(len(c.Differences)):
		return Differs
	case c.Matters == 0:
		return Alike
	case d.Main.Low > -c.Matters && d.Main.High < c.Matters:
		return Alike
	case d.Main.Low > c.Matters || d.Main.High < -c.Matters:
		return Differs
	}
	return Unsure
}

// Verdict is that of all frequencies together.
func (c *Comparison) Verdict() Outcome {
	out := Alike
	for _, d := range c.Differences {
		switch d.Outcome {
		case Differs:
			return Differs
		case Unsure:
			out = Unsure
		}
	}
	return out
}

// WriteComparison writes it for people.
func WriteComparison(w io.Writer, c *Comparison) error {
	var b bytes.Buffer
	c.Good.heading(&b)
	Wrap(&b, "", "the good one: "+c.Good.source()+"; the one in doubt: "+c.Other.source())
	fmt.Fprintln(&b)
	columns(&b, c.rows(), padLeft)
	fmt.Fprintln(&b)
	Wrap(&b, "", c.summary())
	Wrap(&b, "", differencesNote)
	if all := c.findings(); len(all) > 0 {
		fmt.Fprintln(&b)
		Findings(&b, all)
	}
	_, err := w.Write(b.Bytes())
	return err
}

const differencesNote = "± is half of the 95 % interval, of the difference without what both readings share. Chance is that of two equal parts to differ by as much."

// rows are the frequencies, below the heads.
func (c *Comparison) rows() [][]string {
	rows := [][]string{{"", "", "good", "in doubt", "difference", "chance"}}
	for _, d := range c.Differences {
		rows = append(rows, d.row())
	}
	return rows
}

func (c *Comparison) findings() []finding.Finding {
	both := Measurement{}
	both.AddFindings(c.Good.Findings)
	both.AddFindings(c.Other.Findings)
	return both.Findings
}

func (d Compared) row() []string {
	row := []string{nominal(d.NominalHz), string(d.Outcome), "—", "—", "", ""}
	if d.Difference == nil {
		row[4] = "not to be trusted"
		return row
	}
	row[2], row[3] = d.side(d.Good), d.side(d.Other)
	row[4] = signed(d.Main, 100, "%")
	row[5] = byChance(d.Chance)
	return row
}

// side is the main quantity of one reading, without its interval.
func (d Compared) side(r *Reading) string {
	q, unit := d.Element.In(r.Corrected.Reading), d.Element.Unit()
	if q.IsAbsent() {
		return "—"
	}
	return uncertain.Format(round3(q.Value), 0, unit)
}

// Element is what all frequencies are compared by: what the good one is told by.
func (c *Comparison) Element() impedance.Element {
	var list []impedance.Reading
	for _, r := range c.Good.Readings {
		list = append(list, r.Corrected.Reading)
	}
	return impedance.MainOf(list, c.Good.As)
}

// signed writes a difference with its sign.
func signed(q uncertain.Quantity, scale float64, unit string) string {
	q = uncertain.Quantity{Value: scale * q.Value, U: scale * q.U, Low: scale * q.Low, High: scale * q.High}
	text := once(short(q, unit))
	if q.Value > 0 {
		text = "+" + text
	}
	return text
}

func byChance(p float64) string {
	switch {
	case math.IsNaN(p):
		return ""
	case p < 1e-4:
		return "< 0.01 %"
	case p < 0.01:
		return fmt.Sprintf("%.2f %%", 100*p)
	}
	return fmt.Sprintf("%.0f %%", 100*p)
}

// summary says what the table comes to.
func (c *Comparison) summary() string {
	count := map[Outcome]int{}
	var worst *Compared
	for i, d := range c.Differences {
		count[d.Outcome]++
		if d.Outcome == Differs && (worst == nil || math.Abs(d.Main.Value) > math.Abs(worst.Main.Value)) {
			worst = &c.Differences[i]
		}
	}
	limit := "that is sure"
	if c.Matters > 0 {
		limit = fmt.Sprintf("of %.3g %% or more", 100*c.Matters)
	}
	switch {
	case worst != nil:
		return fmt.Sprintf("DIFFERS at %d of %s; most at %s, where %s is %s off.", count[Differs], plural(len(c.Differences), "frequency"),
			Tie(nominal(worst.NominalHz)), worst.Element.Symbol(), Tie(signed(worst.Main, 100, "%")))
	case count[Unsure] > 0:
		return fmt.Sprintf("UNDECIDED at %d of %s, and no difference %s at the others.", count[Unsure], plural(len(c.Differences), "frequency"), limit)
	}
	return "ALIKE: no difference " + limit + " at any frequency."
}

// compareDoc is the schema wheatear.compare/1.
type compareDoc struct {
	Schema      string            `json:"schema"`
	Jig         string            `json:"jig"`
	Calibration *string           `json:"calibration"`
	Matters     *float64          `json:"matters"`
	Verdict     Outcome           `json:"verdict"`
	Differences []differenceDoc   `json:"differences"`
	Good        []readingDoc      `json:"good"`
	Readings    []readingDoc      `json:"readings"`
	Findings    []finding.Finding `json:"findings"`
}

type differenceDoc struct {
	FreqHz   float64             `json:"frequency_hz"`
	Quantity *string             `json:"quantity"`
	Circuit  *impedance.Circuit  `json:"circuit,omitempty"`
	Relative *uncertain.Quantity `json:"relative"`
	Loss     *uncertain.Quantity `json:"loss"`
	Chance   *float64            `json:"chance"`
	Verdict  Outcome             `json:"verdict"`
}

// CompareJSON writes it for programs.
func CompareJSON(w io.Writer, c *Comparison) error {
	good, other := c.Good.Document(), c.Other.Document()
	doc := compareDoc{Schema: "wheatear.compare/1", Jig: good.Jig, Calibration: good.Calibration, Verdict: c.Verdict(),
		Differences: []differenceDoc{}, Good: good.Readings, Readings: other.Readings, Findings: listed(c.findings())}
	if c.Matters > 0 {
		doc.Matters = &c.Matters
	}
	for _, d := range c.Differences {
		out := differenceDoc{FreqHz: d.NominalHz, Verdict: d.Outcome}
		if d.Difference != nil {
			name, circuit := d.Element.Key(), d.Element.Circuit
			if circuit != impedance.NoCircuit {
				out.Circuit = &circuit
			}
			out.Quantity, out.Relative, out.Loss, out.Chance = &name, &d.Main, &d.Difference.Loss, orNull(d.Chance)
		}
		doc.Differences = append(doc.Differences, out)
	}
	return writeJSON(w, doc)
}
