package tell

import (
	"math"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/lockin/uncertain"
)

// Comparison tells how a part differs from a good one.
func Comparison(c *result.Comparison) []block.Block {
	title := block.Say("part in doubt against a good one")
	if c.RestsOn != nil && len(c.GoodFiles) > 0 {
		title = block.Say("%v against %v", source(c.RestsOn), source(&result.Basis{Recordings: c.GoodFiles}))
	}
	head := block.Headline{Title: title, Verdict: string(c.Verdict), Notes: []block.Text{differences(c)}}
	return []block.Block{head, differing(c), Findings(c.Findings), provenance(c.Jig, c.Calibration, c.RestsOn)}
}

// differences says what the table comes to.
func differences(c *result.Comparison) block.Text {
	count := map[result.Agreement]int{}
	var worst *result.Difference
	for i := range c.Differences {
		d := &c.Differences[i]
		count[d.Verdict]++
		if d.Verdict == result.Differs && d.Relative != nil && (worst == nil || math.Abs(d.Relative.Value) > math.Abs(worst.Relative.Value)) {
			worst = d
		}
	}
	limit := block.Say("that is significant")
	if c.Matters != nil {
		limit = block.Say("of %v or more", block.Number(*c.Matters, block.Share, 3))
	}
	all := block.Count(len(c.Differences), "frequency")
	switch {
	case worst != nil:
		return block.Say("Differs at %v of %v; most at %v, where %v is off by %v", count[result.Differs], all,
			block.PlaceHz(worst.FreqHz), worst.Element().Symbol(), signed(*worst.Relative))
	case count[result.Unsure] > 0:
		return block.Say("Undecided at %v of %v, and no difference %v at the others", count[result.Unsure], all, limit)
	}
	return block.Say("No difference %v at any frequency", limit)
}

// differing is the table of the frequencies.
func differing(c *result.Comparison) block.Table {
	t := block.Table{Columns: []block.Column{{Name: "frequency"}, {Name: "verdict"}, {Name: "good"}, {Name: "in doubt"}, {Name: "difference"}, {Name: "p-value", Rank: 1}},
		Notes: []block.Text{block.Say("The interval of a difference is without what both readings share. The p-value is the probability that two equal parts differ by as much")}}
	for i := range c.Differences {
		d := &c.Differences[i]
		row := block.Row{Cells: []block.Value{block.PlaceHz(d.FreqHz), block.Word(string(d.Verdict))}}
		if d.Relative == nil {
			row.Rest = block.Say("%v: one of the readings is not to be trusted", string(d.Verdict))
		} else {
			row.Cells = append(row.Cells, side(c.Good, d), side(c.Readings, d), signed(*d.Relative), pValue(d.Chance))
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// side is the value of one of the two, without its interval.
func side(list []result.Reading, d *result.Difference) block.Value {
	e := d.Element()
	for i := range list {
		if r := &list[i]; r.NominalHz == d.FreqHz && r.Trusted {
			return block.Number(e.In(r.Reading()).Value, e.Unit(), 3)
		}
	}
	return block.Value{Quantity: uncertain.Absent()}
}

// signed is a relative difference.
func signed(q uncertain.Quantity) block.Value {
	return block.Value{Quantity: q, Unit: block.Share, Signed: true}
}

// pValue has no more digits than matter.
func pValue(p *float64) block.Value {
	const least = 1e-4
	switch {
	case p == nil:
		return block.Value{Quantity: uncertain.Absent()}
	case *p < least:
		return block.Of(uncertain.Quantity{Value: math.NaN(), U: math.NaN(), Low: math.Inf(-1), High: least}, block.Share)
	}
	return block.Rough(*p, block.Share)
}
