package report

import (
	"bytes"
	"io"
	"strings"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/paper"
	"example.org/wheatear/cmd/wheatear/internal/plot"
	"example.org/wheatear/cmd/wheatear/internal/tell"
	"example.org/wheatear/lockin/predict"
	"example.org/wheatear/lockin/uncertain"
)

// PlanningPaper writes it as a report that stands alone.
func PlanningPaper(w io.Writer, p *Planning, now time.Time) error {
	best := p.Plan.Choices[0]
	words := p.words(best)
	r := &paper.Report{Title: "Plan for " + p.Text, Made: made(now),
		About:   []string{capital(loose(p.meant())) + ", with " + p.Jig.Name, "Assumed: " + minus(loose(p.assumed())) + "."},
		Verdict: words.Reference + " reference, " + words.Frequency + ", " + words.Level + ", " + words.Record + ": known to " + words.HalfWidth}
	first := paper.Section{Heading: "What to set", Text: []string{words.Verdict + ". ± is half of the 95 % interval."}, Table: &paper.Table{Head: []string{"", ""}, Rows: [][]string{
		{"reference", words.Reference}, {"frequency", words.Frequency + ", " + words.Why}, {"level", words.AtPart}, {"record", loose(p.record(best))}, {"read as", words.ReadAs}}}}
	first.Text = append(first.Text, p.changes(best)...)
	r.Sections = append(r.Sections, first)
	if list := p.Setup.Remedies(p.Plan); len(list) > 0 {
		s := paper.Section{Heading: "What would be better"}
		for _, c := range list {
			s.Text = append(s.Text, capital(sentence(loose(p.remedy(c)))))
		}
		r.Sections = append(r.Sections, s)
	}
	if list := best.Warnings(p.Plan.Wish); len(list) > 0 {
		mind := paper.Section{Heading: "Mind"}
		for _, text := range list {
			mind.Text = append(mind.Text, capital(sentence(text)))
		}
		r.Sections = append(r.Sections, mind)
	}
	r.Sections = append(r.Sections, paper.Section{Heading: "What limits it", Table: limitsTable(best)}, p.others())
	if chart, err := p.Chart(); err == nil {
		var svg bytes.Buffer
		if err := plot.DrawChart(&svg, chart, plot.SVG); err != nil {
			return err
		}
		r.Sections = append(r.Sections, paper.Section{Heading: "What this jig can read", Drawing: paper.Drawing{SVG: svg.Bytes(),
			Shows: "How far an impedance will be known over frequency with each reference, lines of constant C and L, and the part."}})
	}
	return paper.Write(w, r)
}

// capital begins a text with a large letter.
func capital(text string) string { return strings.ToUpper(text[:1]) + text[1:] }

// limitsTable is what a choice's uncertainty is made of.
func limitsTable(c predict.Choice) *paper.Table {
	t := &paper.Table{Head: []string{"source", "share of the variance", "what it is"}}
	for _, l := range c.Limits {
		if l.Share >= leastShare {
			t.Rows = append(t.Rows, []string{l.Label, percent(l.Share), tell.Why(l.Label)})
		}
	}
	return t
}

// leastShare of the variance is worth a line.
const leastShare = 0.005

// others is the table of all choices.
func (p *Planning) others() paper.Section {
	t := &paper.Table{Head: []string{"reference", "frequency", "comes to", "record", "level", "limited by"}}
	for _, c := range p.Plan.Choices {
		words, limit := p.words(c), ""
		if len(c.Limits) > 0 {
			limit = c.Limits[0].Label
		}
		t.Rows = append(t.Rows, []string{uncertain.Format(c.ReferenceOhm, 0, "Ω"), words.Frequency, words.HalfWidth, words.Record, words.Level, limit})
	}
	return paper.Section{Heading: "All choices, best first", Table: t}
}
