package tell

import (
	"slices"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/lockin/finding"
)

// settled are the notes of what was corrected or removed, and asks for nothing.
var settled = []finding.Code{finding.Clock, finding.Hum, finding.Resampled}

// Findings groups what the recordings show: one sentence is said once, with all the
// places where it was seen, gravest first.
func Findings(list []finding.Finding) block.Findings {
	var out block.Findings
	for _, f := range list {
		group := &out.List
		if f.Severity == finding.Note && slices.Contains(settled, f.Code) {
			group = &out.Settled
		}
		i := slices.IndexFunc(*group, func(g block.Finding) bool {
			return g.Code == f.Code && g.Severity == f.Severity && plain(g.Advice) == advice(f)
		})
		if i < 0 {
			i = len(*group)
			*group = append(*group, block.Finding{Code: f.Code, Severity: f.Severity, Detail: block.Say("%v", f.Detail), Advice: block.Say("%v", advice(f))})
		}
		g := &(*group)[i]
		g.Count++
		if f.Brief != "" && !slices.Contains(g.Brief, f.Brief) {
			g.Brief = append(g.Brief, f.Brief)
		}
		if at := where(f); len(at) > 0 && !slices.ContainsFunc(g.Where, func(t block.Text) bool { return same(t, at) }) {
			g.Where = append(g.Where, at)
		}
	}
	rank := map[finding.Severity]int{finding.Invalid: 0, finding.Warning: 1, finding.Note: 2}
	slices.SortStableFunc(out.List, func(a, b block.Finding) int { return rank[a.Severity] - rank[b.Severity] })
	return out
}

// advice is what to do; nothing where there is nothing.
func advice(f finding.Finding) string {
	if f.Advice == "nothing to do" {
		return ""
	}
	return f.Advice
}

func plain(t block.Text) string {
	text := ""
	for _, r := range t {
		text += r.Words
	}
	return text
}

func same(a, b block.Text) bool {
	return slices.EqualFunc(a, b, func(x, y block.Run) bool {
		return x.Words == y.Words && (x.Value == nil) == (y.Value == nil) && (x.Value == nil || x.Value.Quantity == y.Value.Quantity)
	})
}

// where says which record, channel, tone and time a finding is about.
func where(f finding.Finding) block.Text {
	var at []block.Text
	if f.File != "" {
		at = append(at, block.Say("in\u00a0%v", f.File))
	}
	if f.Channel != 0 {
		at = append(at, block.Say("channel\u00a0%v", f.Channel))
	}
	if f.FreqHz != 0 {
		at = append(at, block.Say("at\u00a0%v", block.PlaceHz(f.FreqHz)))
	}
	if f.AtS != nil {
		at = append(at, block.Say("at\u00a0%v", block.Number(*f.AtS, "s", 4)))
	}
	return block.Join(at, "\u00a0")
}
