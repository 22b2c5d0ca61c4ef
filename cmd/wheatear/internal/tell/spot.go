package tell

import (
	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/plot"
	"example.org/wheatear/cmd/wheatear/internal/render/typeset"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/uncertain"
)

// Spot tells a part among its surroundings.
func Spot(s *result.Spot) []block.Block {
	head := block.Headline{Title: spotTitle(s)}
	element := impedance.Element{Kind: s.Kind}
	if s.Told && s.Value != nil {
		head.Main = &block.Figure{Key: "value", Name: element.Words() + " of the part", Value: block.Of(*s.Value, s.Unit)}
		if s.Series != nil {
			name := "series resistance"
			if s.Kind == impedance.Capacitor {
				name = "ESR"
			}
			head.Beside = append(head.Beside, block.Figure{Key: "series_ohm", Name: name, Value: block.Of(*s.Series, "Ω")})
		}
	} else {
		head.Verdict = "undetermined in circuit"
	}
	for _, words := range []string{s.Verdict, s.Why, s.Assumed} {
		if words != "" {
			head.Notes = append(head.Notes, capital(words))
		}
	}
	if text := junctions(s); len(text) > 0 {
		head.Notes = append(head.Notes, text)
	}
	out := []block.Block{head}
	if len(s.Health) > 0 {
		out = append(out, wear(s))
	}
	if len(s.Models) > 0 {
		out = append(out, networks(s))
	}
	if s.Told && s.BestHz != nil && len(s.Misleading) > 0 {
		out = append(out, misleading(s))
	}
	if s.Curve != nil {
		out = append(out, drawing("Impedance in circuit, the likeliest network, and the part alone.", spotChart(s)))
	}
	out = append(out, fullReadings(s.Readings)...)
	return append(out, Findings(s.Findings), provenance(s.Jig, s.Calibration, s.RestsOn))
}

// spotTitle says what was read, and at which level.
func spotTitle(s *result.Spot) block.Text {
	text := block.Say("%v in circuit: %v", spotName(s), block.Count(len(s.Readings), "frequency"))
	if n := len(s.Readings); n > 1 {
		text = block.Say("%v from %v to %v", text, block.PlaceHz(s.Readings[0].NominalHz), block.PlaceHz(s.Readings[n-1].NominalHz))
	}
	if s.LevelDBFS != nil {
		text = block.Say("%v, at %v", text, dbfs(s.LevelDBFS))
	}
	return text
}

func spotName(s *result.Spot) block.Text {
	if s.Part != nil {
		return block.Say("%v", *s.Part)
	}
	return source(s.RestsOn)
}

// junctions say what on the board depends on level.
func junctions(s *result.Spot) block.Text {
	var from block.Value
	switch {
	case s.Conducts.PartVRMS != nil:
		from = block.Number(*s.Conducts.PartVRMS, "V", 3)
	case s.Junctions != nil && s.Junctions.FromDBFS != nil:
		from = dbfs(s.Junctions.FromDBFS)
	case s.LevelDBFS != nil:
		return block.Say("Nothing on the board depends on level up to there")
	default:
		return nil
	}
	if s.Junctions == nil {
		return block.Say("Something on the board depends on level from %v on", from)
	}
	return block.Say("Something on the board depends on level from %v on (%v), so that the level stays below", from, string(s.Junctions.Kind))
}

// wear is how worn the part is.
func wear(s *result.Spot) block.Figures {
	out := block.Figures{Title: "Wear, by usual limits (common practice, from memory)"}
	for _, h := range s.Health {
		f := block.Figure{Key: h.What, Name: h.What, Value: block.Word(string(h.Outcome)), Remark: block.Say("%v", h.Basis)}
		if h.Value != nil && h.U != nil && h.Unit != "" {
			f.Value, f.Remark = block.Of(uncertain.NormalQuantity(*h.Value, *h.U, 0), h.Unit), block.Say("%v", string(h.Outcome))
		}
		out.List = append(out.List, f)
	}
	return out
}

// networks are those that were tried and count.
func networks(s *result.Spot) block.Table {
	t := block.Table{Title: "Networks that were tried", Columns: []block.Column{{Name: "probability"}, {Name: "p-value"}, {Name: "network"}}}
	for i, m := range s.Models {
		const most, least = 4, 0.01
		if i >= most || i > 0 && m.Weight < least {
			break
		}
		circuit := m.Circuit
		if circuit == "" {
			circuit = "with " + m.Around + " in parallel"
		}
		t.Rows = append(t.Rows, block.Row{Cells: []block.Value{share(m.Weight), pValue(m.Chance), block.Word(circuit)}})
	}
	return t
}

// misleading is what single readings would have shown.
func misleading(s *result.Spot) block.Table {
	t := block.Table{Title: "What a single reading would have shown", Columns: []block.Column{{Name: "frequency"}, {Name: "reads as"}, {Name: "off by"}}}
	if s.Share != nil {
		t.Notes = []block.Text{block.Say("Read at one frequency, it is best at %v, where %v of what is seen is the part", block.PlaceHz(*s.BestHz), share(*s.Share))}
	}
	for _, x := range thinned(s.Misleading) {
		row := []block.Value{block.PlaceHz(x.FreqHz), block.Word("another kind of part"), {Quantity: uncertain.Absent()}}
		if x.Value != nil && x.Off != nil {
			row[1], row[2] = block.Number(*x.Value, s.Unit, 3), plus(block.Rough(*x.Off, block.Share))
		}
		t.Rows = append(t.Rows, block.Row{Cells: row})
	}
	return t
}

// thinned keeps a handful, the ends among them.
func thinned(list []result.Apparent) []result.Apparent {
	const most = 6
	if len(list) <= most {
		return list
	}
	var out []result.Apparent
	for i := range most {
		out = append(out, list[i*(len(list)-1)/(most-1)])
	}
	return out
}

// spotChart draws the readings and the likeliest network over frequency.
func spotChart(s *result.Spot) *plot.Chart {
	read := plot.Series{Name: "reading with its 95 % interval", Style: plot.Dots}
	for i := range s.Readings {
		if r := &s.Readings[i]; r.Trusted {
			read.X, read.Y = append(read.X, r.NominalHz), append(read.Y, r.Reading().Modulus)
		}
	}
	curve := func(name string, style plot.Style, ohm []*float64) plot.Series {
		line := plot.Series{Name: name, Style: style}
		for i, hz := range s.Curve.FreqsHz[:min(len(ohm), len(s.Curve.FreqsHz))] {
			line.X, line.Y = append(line.X, hz), append(line.Y, plot.Exactly([]float64{block.OrNaN(ohm[i])})...)
		}
		return line
	}
	var set typeset.Setter
	return &plot.Chart{Title: set.Text(block.Say("%v in circuit", spotName(s))), Note: set.Text(provenance(s.Jig, s.Calibration, s.RestsOn).Short),
		X: plot.Scale{Name: "frequency", Unit: "Hz", Log: true}, Panels: []plot.ChartPanel{{Y: plot.Scale{Name: "impedance |Z|", Unit: "Ω", Log: true},
			Series: []plot.Series{read, curve("likeliest network", plot.Line, s.Curve.Network), curve("the part alone", plot.Dashed, s.Curve.Part)}}}}
}
