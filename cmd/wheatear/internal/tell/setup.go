package tell

import (
	"slices"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/lockin/uncertain"
)

// Calibration tells what a calibration came to.
func Calibration(c *result.Calibration) []block.Block {
	var out []block.Block
	n := len(c.Frequencies)
	if n > 0 {
		title := block.Say("calibrated at %v", block.Count(n, "frequency"))
		if low, high := slices.Min(c.Frequencies), slices.Max(c.Frequencies); low < high {
			title = block.Say("%v from %v to %v", title, block.PlaceHz(low), block.PlaceHz(high))
		}
		if c.Jig != "" {
			title = block.Say("%v, %v", c.Jig, title)
		}
		out = append(out, block.Headline{Title: title})
	}
	if len(c.Points) > 0 {
		t := block.Table{Columns: []block.Column{{Name: "frequency"}, {Name: "standards"}, {Name: "terms"}}}
		for _, p := range c.Points {
			settled := "all settled"
			if !p.Settled {
				settled = "the rest by what is usual of jigs"
			}
			t.Rows = append(t.Rows, block.Row{Cells: []block.Value{block.PlaceHz(p.FreqHz), words(p.Standards), block.Word(settled)}})
		}
		out = append(out, t)
	}
	return append(out, Findings(c.Findings))
}

// Setup tells what a new jig file is about, and what the inputs recorded.
func Setup(s *result.Setup) []block.Block {
	head := block.Headline{Title: block.Say("%v, written to %v", s.Jig, s.File)}
	list := block.Figures{}
	if s.LevelDBFS != nil {
		list.List = append(list.List, block.Figure{Key: "level", Name: "played at", Value: dbfs(s.LevelDBFS)})
	}
	return append([]block.Block{head, list}, InputLevels(s)...)
}

// InputLevels tells what the inputs recorded of a quiet tone, and what to change.
func InputLevels(s *result.Setup) []block.Block {
	if len(s.Inputs) == 0 {
		return nil
	}
	t := block.Table{Columns: []block.Column{{Name: "input"}, {Name: "carries"}, {Name: "quiet tone"}, {Name: "at the level to be played"}, {Name: "noise", Rank: 1}}}
	for _, in := range s.Inputs {
		t.Rows = append(t.Rows, block.Row{Cells: []block.Value{block.Number(float64(in.Input), "", 9), block.Word(in.Carries), dbfs(in.QuietDBFS), dbfs(in.ExpectedDBFS), dbfs(in.NoiseDBFS)}})
	}
	out := []block.Block{t, Findings(s.Findings)}
	switch {
	case s.Advice != "":
		out = append(out, block.Advice{Text: []block.Text{block.Say("%v", s.Advice)}})
	case len(s.Findings) == 0:
		out = append(out, block.Paragraphs{Text: []block.Text{block.Say("The levels are good")}})
	}
	return out
}

// FullScale tells the volts of full scale.
func FullScale(f *result.FullScale) []block.Block {
	const digits = 4 // that a meter is good for
	head := block.Headline{Title: block.Say("%v: full scale, written to %v", f.Jig, f.File)}
	list := block.Figures{List: []block.Figure{
		{Key: "full_scale_1", Name: "first input", Value: block.Number(f.Volts[0], "V", digits), Remark: block.Say("peak")},
		{Key: "full_scale_2", Name: "second input", Value: block.Number(f.Volts[1], "V", digits), Remark: block.Say("peak")},
	}}
	if f.Level.PartVRMS != nil && f.Level.PartARMS != nil {
		list.List = append(list.List, block.Figure{Key: "level", Name: "level", Value: block.Value{Quantity: uncertain.Absent(),
			Text: block.Say("%v across the part, %v through it (rms)", block.Number(*f.Level.PartVRMS, "V", digits), block.Number(*f.Level.PartARMS, "A", digits))}})
	}
	return []block.Block{head, list}
}
