package tell

import (
	"math"
	"slices"
	"strings"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/plot"
	"example.org/wheatear/cmd/wheatear/internal/render/typeset"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/lockin/uncertain"
)

// Plan tells what to set for a part, and what that will come to.
func Plan(p *result.Plan) []block.Block {
	head := block.Headline{Title: block.Say("Plan for %v: %v, with %v", p.Part, p.Meant, p.Jig)}
	if len(p.Choices) == 0 {
		head.Notes = []block.Text{block.Say("No choice was found")}
		return []block.Block{head}
	}
	best := &p.Choices[0]
	head.Main, head.Beside = choice(p, best)
	out := []block.Block{head}
	var next block.Advice
	for _, text := range best.Changes {
		next.Text = append(next.Text, block.Say("first: %v", text))
	}
	for _, r := range p.Remedies {
		next.Text = append(next.Text, block.Say("better: %v", r.Words))
	}
	for _, text := range best.Warnings {
		next.Text = append(next.Text, block.Say("mind: %v", text))
	}
	if len(next.Text) > 0 {
		out = append(out, next)
	}
	if len(p.Choices) > 1 {
		out = append(out, otherChoices(p.Choices[1:]))
	}
	if p.Reach != nil {
		c := drawing("How far an impedance will be known over frequency with each reference, lines of constant C and L, and the part.", Reach(p.Jig, p.Reach))
		if i := slices.IndexFunc(p.Reach.References, func(r result.ReachOf) bool { return r.ReferenceOhm == best.ReferenceOhm }); i >= 0 {
			c.Plain = reachInLetters(&p.Reach.References[i], &p.Reach.Part)
		}
		out = append(out, c)
	}
	return append(out, block.Paragraphs{Text: []block.Text{block.Say("± is the half-width of the 95\u00a0% interval. Assumed: %v", p.Assumed)}},
		block.Figures{Title: "The jig", Full: true, List: []block.Figure{{Key: "jig", Name: "name", Value: block.Word(p.Jig)}, {Key: "reference_ohm", Name: "reference", Value: block.Number(p.ReferenceOhm, "Ω", 6)}}})
}

// choice is what a choice comes to, and what to set for it.
func choice(p *result.Plan, c *result.Choice) (main *block.Figure, beside []block.Figure) {
	words := func(key, name, text string) block.Figure {
		return block.Figure{Key: key, Name: name, Value: block.Word(text)}
	}
	w := c.Words
	comes := words("half_width", "comes to", w.HalfWidth)
	if w.Verdict != w.HalfWidth {
		comes.Remark = block.Say("%v", strings.Replace(w.Verdict, "No reading", "no reading", 1))
	}
	frequency := words("frequency", "frequency", w.Frequency)
	if w.Why != "" {
		frequency.Remark = block.Say("%v", w.Why)
	}
	record := words("record", "record", w.Record+" of steady tone")
	if p.Longer != nil {
		record.Remark = block.Say("%v would bring ±\u00a0%v, more gains little", block.Number(p.Longer.Seconds, "s", 3), block.Rough(p.Longer.HalfWidth, block.Share))
	}
	beside = []block.Figure{frequency, words("reference", "reference", w.Reference), words("level", "level", w.AtPart), record, words("read_as", "read as", w.ReadAs)}
	if limits := limitsOf(c); len(limits) > 0 {
		beside = append(beside, block.Figure{Key: "limits", Name: "limited by", Value: block.Value{Text: limits}})
	}
	return &comes, beside
}

// limitsOf are the first three sources of uncertainty.
func limitsOf(c *result.Choice) block.Text {
	var list []block.Text
	for i, l := range c.Limits {
		const most, least = 3, 0.02
		if i >= most || l.Share < least {
			break
		}
		list = append(list, block.Say("%v\u00a0%v", l.Source.Source, share(l.Share)))
	}
	return block.Join(list, ", ")
}

// otherChoices are those after the best.
func otherChoices(list []result.Choice) block.Table {
	const most = 7
	t := block.Table{Title: "Other choices", Columns: []block.Column{{Name: "reference"}, {Name: "frequency"}, {Name: "comes to"}, {Name: "limited by"}}}
	for _, c := range list[:min(most, len(list))] {
		row := []block.Value{block.Word(c.Words.Reference), block.Word(c.Words.Frequency), block.Word(c.Words.HalfWidth), {Quantity: uncertain.Absent()}}
		if len(c.Limits) > 0 {
			row[3] = block.Word(c.Limits[0].Source.Source)
		}
		t.Rows = append(t.Rows, block.Row{Cells: row})
	}
	return t
}

const leastReachOhm, mostReachOhm = 1e-2, 1e7 // ends of the axis of |Z|

// Reach draws what a jig can read over frequency and impedance, with a few references.
func Reach(jig string, r *result.Reach) *plot.Chart {
	const most = 4 // references that a picture has room for
	var set typeset.Setter
	c := &plot.Chart{Title: "What " + jig + " can read", Note: "between the lines of one kind |Z| is known to 0.1 %, 1 % or 10 % (95 %)", X: plot.Scale{Name: "frequency", Unit: "Hz", Log: true}}
	list := r.References
	if len(list) > most {
		list = list[:most]
	}
	for _, of := range list {
		if len(of.FreqsHz) == 0 {
			continue
		}
		c.X.Low, c.X.High = of.FreqsHz[0], of.FreqsHz[len(of.FreqsHz)-1]
		panel := plot.ChartPanel{Y: plot.Scale{Name: "|Z|, reference " + set.Value(block.Number(of.ReferenceOhm, "Ω", 6)), Unit: "Ω", Log: true, Low: leastReachOhm, High: mostReachOhm}}
		for _, w := range of.Within {
			name := "within " + set.Value(block.Number(w.HalfWidth, block.Share, 2))
			low, high := numbersOf(w.Low), numbersOf(w.High)
			switch {
			case w.HalfWidth >= 0.1:
				s := plot.Series{Name: name, X: of.FreqsHz, Style: plot.Area}
				for i := range low {
					s.Y = append(s.Y, uncertain.Quantity{Value: math.Sqrt(low[i] * high[i]), Low: low[i], High: high[i]})
				}
				panel.Series = append(panel.Series, s)
			default:
				style := plot.Line
				if w.HalfWidth < 0.005 {
					style = plot.Dashed
				}
				panel.Series = append(panel.Series, plot.Series{Name: name, X: of.FreqsHz, Y: plot.Exactly(low), Style: style}, plot.Series{X: of.FreqsHz, Y: plot.Exactly(high), Style: style})
			}
		}
		panel.Series = append(panel.Series, constant(c.X.Low, c.X.High)...)
		if len(r.Part.FreqsHz) > 0 {
			panel.Series = append(panel.Series, plot.Series{Name: "the part", Style: plot.Curve, X: r.Part.FreqsHz, Y: plot.Exactly(r.Part.Modulus)})
		}
		c.Panels = append(c.Panels, panel)
	}
	return c
}

func numbersOf(list []*float64) (out []float64) {
	for _, v := range list {
		out = append(out, block.OrNaN(v))
	}
	return out
}

// constant are lines of constant capacitance and inductance, a factor of a thousand apart.
func constant(lowHz, highHz float64) []plot.Series {
	var out []plot.Series
	var set typeset.Setter
	add := func(v block.Value, z func(w float64) float64) {
		s := plot.Series{Style: plot.Guide, Text: set.Value(v)}
		for _, hz := range []float64{lowHz, highHz} {
			s.X = append(s.X, hz)
			s.Y = append(s.Y, plot.Exactly([]float64{z(2 * math.Pi * hz)})...)
		}
		out = append(out, s)
	}
	for _, farad := range []float64{10e-12, 10e-9, 10e-6, 10e-3} {
		add(block.Number(farad, "F", 2), func(w float64) float64 { return 1 / (w * farad) })
	}
	for _, henry := range []float64{1e-6, 1e-3, 1} {
		add(block.Number(henry, "H", 2), func(w float64) float64 { return w * henry })
	}
	return out
}

// reachInLetters is the reach of one reference for terminals: how well |Z| can be read
// over frequency, and the part in it, two rows to a decade of impedance.
func reachInLetters(r *result.ReachOf, part *result.Locus) *block.Table {
	const wide, rows = 60, 19
	if len(r.FreqsHz) < 2 {
		return nil
	}
	low, high := r.FreqsHz[0], r.FreqsHz[len(r.FreqsHz)-1]
	t := &block.Table{Title: "|Z| with " + (&typeset.Setter{}).Value(block.Number(r.ReferenceOhm, "Ω", 6)) + ": # within 0.1\u00a0%, + 1\u00a0%, . 10\u00a0%, o the part",
		Columns: []block.Column{{Name: ""}, {Name: " "}}}
	for row := rows - 1; row >= 0; row-- {
		ohm := leastReachOhm * math.Pow(10, float64(row)/2)
		line := make([]byte, wide)
		for c := range line {
			hz := low * math.Pow(high/low, float64(c)/(wide-1))
			line[c] = reachLetter(r, hz, ohm)
			if z := across(part.FreqsHz, part.Modulus, hz); math.Abs(math.Log10(z/ohm)) <= 0.25 {
				line[c] = 'o'
			}
		}
		label := block.Word(" ")
		if row%2 == 0 {
			label = block.Number(ohm, "Ω", 1)
		}
		t.Rows = append(t.Rows, block.Row{Cells: []block.Value{label, block.Word("|" + string(line))}})
	}
	scale := []byte(strings.Repeat(" ", wide+12))
	for _, hz := range []float64{20, 100, 1e3, 10e3} {
		if hz >= low*0.99 && hz <= high {
			at := 1 + int(math.Round(math.Log(hz/low)/math.Log(high/low)*(wide-1)))
			copy(scale[max(at, 0):], strings.ReplaceAll((&typeset.Setter{}).Value(block.Number(hz, "Hz", 2)), "\u00a0", " "))
		}
	}
	t.Rows = append(t.Rows, block.Row{Cells: []block.Value{block.Word(" "), block.Word(strings.TrimRight(string(scale), " "))}})
	return t
}

// reachLetter says how well an impedance is known at a frequency.
func reachLetter(r *result.ReachOf, hz, ohm float64) byte {
	letter, best := byte(' '), math.Inf(1)
	for _, w := range r.Within {
		if ohm >= across(r.FreqsHz, numbersOf(w.Low), hz) && ohm <= across(r.FreqsHz, numbersOf(w.High), hz) && w.HalfWidth < best {
			best = w.HalfWidth
		}
	}
	switch {
	case best <= 0.001:
		letter = '#'
	case best <= 0.01:
		letter = '+'
	case best <= 0.1:
		letter = '.'
	}
	return letter
}

// across is a curve between its points, on logarithmic scales; NaN beyond them.
func across(freqsHz, values []float64, hz float64) float64 {
	for i := 1; i < min(len(freqsHz), len(values)); i++ {
		if hz <= freqsHz[i]*(1+1e-9) && hz >= freqsHz[i-1]*(1-1e-9) {
			t := math.Log(hz/freqsHz[i-1]) / math.Log(freqsHz[i]/freqsHz[i-1])
			return values[i-1] * math.Pow(values[i]/values[i-1], t)
		}
	}
	return math.NaN()
}
