package tell

import (
	"cmp"
	"io"
	"math"
	"slices"
	"unicode"
	"unicode/utf8"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/plot"
	"example.org/wheatear/cmd/wheatear/internal/render/typeset"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/level"
	"example.org/wheatear/lockin/uncertain"
)

// Levels tells how a part depends on level.
func Levels(l *result.Levels) []block.Block {
	head := block.Headline{Title: levelsTitle(l)}
	if l.Kind == nil {
		head.Notes = []block.Text{block.Say("Too few readings can be trusted to say how it depends on level")}
		return []block.Block{head, levelTable(l), Findings(l.Findings), provenance(l.Jig, l.Calibration, l.RestsOn)}
	}
	atZero(l, &head)
	kind := block.Figure{Key: "kind", Name: "kind", Value: block.Word(string(*l.Kind))}
	if l.Confidence != nil {
		kind.Remark = block.Say("%v confidence", string(*l.Confidence))
	}
	head.Beside = append(head.Beside, kind)
	if at := onset(l); at != nil {
		head.Beside = append(head.Beside, block.Figure{Key: "onset", Name: "changes from", Value: volts(l, *at), Remark: block.Say("re the lowest level")})
	}
	var reasons block.Paragraphs
	for _, r := range l.Reasons {
		reasons.Text = append(reasons.Text, block.Say("%v", upper(r)))
	}
	return []block.Block{head, levelTable(l), reasons, levelChart(l), Findings(l.Findings), provenance(l.Jig, l.Calibration, l.RestsOn)}
}

// onset is the voltage from which the part departs; nil where it does not.
func onset(l *result.Levels) *float64 {
	if l.OnsetRelative != nil {
		return l.OnsetRelative.PartVRMS
	}
	return l.Onset.PartVRMS
}

func levelsTitle(l *result.Levels) block.Text {
	name := source(l.RestsOn)
	if l.Part != nil {
		name = block.Say("%v", *l.Part)
	}
	text := block.Say("%v: %v", name, block.Count(len(l.Readings), "level"))
	if len(l.Readings) > 0 {
		text = block.Say("%v at %v", text, block.PlaceHz(l.Readings[0].NominalHz))
	}
	return text
}

// levelTable are the readings, a line each.
func levelTable(l *result.Levels) block.Table {
	e := result.ElementOf(l.Readings)
	t := block.Table{Columns: []block.Column{{Name: "at the part"}, {Name: "current", Rank: 1}, {Name: e.Words()}, {Name: "2nd"}, {Name: "3rd"}, {Name: "D", Rank: 2}}}
	for i := range l.Readings {
		t.Rows = append(t.Rows, levelRow(l, i, e))
	}
	return t
}

func levelRow(l *result.Levels, i int, e impedance.Element) block.Row {
	none := block.Value{Quantity: uncertain.Absent()}
	r, p := &l.Readings[i], l.Points[i]
	row := block.Row{Cells: []block.Value{none, none, none, none, none, none}}
	if p.PartVRMS != nil {
		row.Cells[0] = volts(l, *p.PartVRMS)
	}
	if p.PartARMS != nil && !l.Relative {
		row.Cells[1] = block.Number(*p.PartARMS, "A", 3)
	}
	if p.Refused != "" {
		row.Rest = block.Say("refused: %v", p.Refused)
	}
	z := r.Reading()
	row.Cells[2] = toldBy(r, z, e)
	if i < len(l.Harmonics) {
		for _, h := range l.Harmonics[i] {
			if h.Order == 2 || h.Order == 3 {
				row.Cells[1+h.Order] = harmonic(h)
			}
		}
	}
	if math.Abs(z.D.Value) < 10 {
		row.Cells[5] = block.Of(z.D, "")
	}
	return row
}

// volts is a level: absolute where full scale is known.
func volts(l *result.Levels, v float64) block.Value {
	if l.Relative {
		db := 20 * math.Log10(v*math.Sqrt2) // of the peak
		return dbfs(&db)
	}
	return block.Number(v, "V", 3)
}

// harmonic is one of the part re the tone, or what it stays below.
func harmonic(h result.Harmonic) block.Value {
	const sure, bound = 5, 3
	db := func(ratio float64) block.Value { return block.Number(math.Round(20*math.Log10(ratio)), "dB", 3) }
	if h.Relative > sure*h.U {
		return db(h.Relative)
	}
	return block.Value{Quantity: uncertain.Absent(), Text: block.Say("<\u00a0%v", db(math.Max(h.Relative+bound*h.U, 1e-12)))}
}

// atZero says what the part would be without a level, and what it is at the highest.
func atZero(l *result.Levels, head *block.Headline) {
	if l.Zero == nil || l.Quantity == nil || l.Unit == nil || l.Law == nil {
		return
	}
	head.Main = &block.Figure{Key: "zero", Name: *l.Quantity + " at level zero", Value: block.Of(*l.Zero, *l.Unit)}
	some := l.Used > 0 && l.Used < len(l.Readings)
	if some {
		head.Main.Remark = block.Say("from the lowest %v of %v", l.Used, block.Count(len(l.Readings), "level"))
	}
	law := block.Figure{Key: "law", Name: "change with level", Value: block.Word(string(*l.Law))}
	if *l.Law == level.Constant {
		law.Value = block.Word("none found")
	}
	head.Beside = []block.Figure{law}
	if l.Change == nil || l.ChangeU == nil || *l.Law == level.Constant && !some {
		return
	}
	change := signed(uncertain.NormalQuantity(*l.Change, *l.ChangeU, math.Inf(1)))
	if math.Abs(*l.Change) > 0.5 {
		change = block.Value{Quantity: uncertain.Absent(), Text: block.Say("%v times that", block.Rough(1+*l.Change, ""))}
	}
	head.Beside = append(head.Beside, block.Figure{Key: "change", Name: "at the highest level", Value: change})
}

// upper begins a sentence.
func upper(text string) string {
	first, size := utf8.DecodeRuneInString(text)
	if size == 0 {
		return text
	}
	return string(unicode.ToUpper(first)) + text[size:]
}

// levelChart draws the main quantity and the loss over level.
func levelChart(l *result.Levels) block.Chart {
	type z = impedance.Reading
	type q = uncertain.Quantity
	var set typeset.Setter
	c := &plot.Chart{Title: set.Text(levelsTitle(l)), Note: set.Text(provenance(l.Jig, l.Calibration, l.RestsOn).Short),
		X: plot.Scale{Name: "level at the part, rms", Unit: "V", Log: true}}
	main, loss := plot.Scale{Name: "resistance in series", Unit: "Ω"}, plot.Scale{Name: "dissipation factor"}
	mainOf, lossOf := func(r z) q { return r.Re }, func(r z) q { return r.D }
	switch letter := l.Quantity; {
	case letter != nil && *letter == "C":
		main, mainOf = plot.Scale{Name: "capacitance in series", Unit: "F"}, func(r z) q { return r.Series.C }
	case letter != nil && *letter == "L":
		main, mainOf = plot.Scale{Name: "inductance in series", Unit: "H"}, func(r z) q { return r.Series.L }
		c.X.Unit = "A"
	default:
		loss, lossOf = plot.Scale{Name: "reactance", Unit: "Ω"}, func(r z) q { return r.Im }
	}
	if l.Relative {
		c.X.Name, c.X.Unit = "level at the part, relative", ""
	}
	values, losses := overLevel(l, mainOf), overLevel(l, lossOf)
	if n := len(values.X); n > 0 {
		panel := plot.ChartPanel{Y: main, Height: 2, Series: []plot.Series{values}}
		if l.Zero != nil {
			panel.Series = append(panel.Series, plot.Series{Name: "carried to level zero", X: []float64{values.X[0], values.X[n-1]},
				Y: plot.Exactly([]float64{l.Zero.Value, l.Zero.Value}), Style: plot.Dashed})
		}
		c.Panels = append(c.Panels, panel)
	}
	if len(losses.X) > 0 {
		c.Panels = append(c.Panels, plot.ChartPanel{Y: loss, Series: []plot.Series{losses}})
	}
	return block.Chart{Shows: "The part over level, with 95\u00a0% intervals.", Draw: func(w io.Writer, format plot.Format) error { return plot.DrawChart(w, c, format) }}
}

// overLevel is a quantity by rising voltage across the part, or current through an
// inductor.
func overLevel(l *result.Levels, of func(z impedance.Reading) uncertain.Quantity) plot.Series {
	type point struct {
		at float64
		uncertain.Quantity
	}
	var list []point
	for i, p := range l.Points {
		at, q := p.PartVRMS, of(l.Readings[i].Reading())
		if l.Quantity != nil && *l.Quantity == "L" {
			at = p.PartARMS
		}
		if at != nil && p.Refused == "" && !math.IsNaN(q.Value) {
			list = append(list, point{*at, q})
		}
	}
	slices.SortStableFunc(list, func(a, b point) int { return cmp.Compare(a.at, b.at) })
	s := plot.Series{Name: "reading with its 95 % interval", Style: plot.Band}
	for _, p := range list {
		s.X, s.Y = append(s.X, p.at), append(s.Y, p.Quantity)
	}
	return s
}
