package tell

import (
	"math"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/lockin/uncertain"
)

// NotebookList tells entries of the notebook, a line each.
func NotebookList(l *result.NotebookList) []block.Block {
	switch n := len(l.Entries); {
	case l.Total == 0:
		return sentence(block.Say("Nothing in %v agrees with that", l.File))
	case n == 0:
		return sentence(block.Count(l.Total, "entry"))
	}
	t := block.Table{Columns: []block.Column{{Name: ""}, {Name: "made"}, {Name: "what"}, {Name: "label", Least: 16}, {Name: "reads as", Least: 16}}}
	for i := range l.Entries {
		e := &l.Entries[i]
		t.Rows = append(t.Rows, block.Row{Cells: []block.Value{block.Number(float64(e.ID), "", 15), made(e.Time), block.Word(e.Kind), block.Word(e.Label), {Text: inShort(e)}}})
	}
	title := block.Count(l.Total, "entry")
	if len(l.Entries) < l.Total {
		title = block.Say("The newest %v of %v", len(l.Entries), title)
	}
	return []block.Block{block.Headline{Title: title}, t}
}

func sentence(list ...block.Text) []block.Block {
	return []block.Block{block.Paragraphs{Text: list}}
}

// made is a time by the clock on the wall.
func made(t time.Time) block.Value { return block.Moment(t.Local()) }

// inShort is what an entry says, in a few words.
func inShort(e *result.Entry) block.Text {
	var list []block.Text
	if reads, at := EntryReads(e); len(e.Points) == 1 {
		list = append(list, block.Say("%v: %v", at, reads))
	} else if len(e.Points) > 1 {
		list = append(list, block.Say("%v, %v", reads, at))
	} else if len(reads) > 0 {
		list = append(list, reads)
	}
	if e.Verdict != nil {
		list = append(list, block.Say("%v", *e.Verdict))
	}
	if e.Note != "" {
		list = append(list, block.Say("%v", e.Note))
	}
	return block.Join(list, ", ")
}

// EntryReads is what an entry reads as and at which frequencies, or the jig that it is
// about.
func EntryReads(e *result.Entry) (reads, at block.Text) {
	switch p := e.Points; {
	case len(p) == 0:
		return block.Say("%v", e.Jig), nil
	case len(p) == 1:
		return block.Say("%v", PointReads(&p[0])), block.Say("%v", block.PlaceHz(p[0].FreqHz))
	}
	low, high := math.Inf(1), math.Inf(-1)
	for _, p := range e.Points {
		low, high = min(low, p.FreqHz), max(high, p.FreqHz)
	}
	reads, at = block.Count(len(e.Points), "reading"), block.Say("%v to %v", block.Number(low, "Hz", 3), block.Number(high, "Hz", 3))
	if low == high {
		at = block.Say("all at %v", block.PlaceHz(low))
	}
	return reads, at
}

// PointReads is the main figure of a reading, or why there is none.
func PointReads(p *result.Point) block.Value {
	bound := (p.Low == nil) != (p.High == nil)
	switch {
	case !p.Trusted:
		return block.Word("refused")
	case (p.Value == nil || p.U == nil) && !bound:
		return block.Word(p.State)
	}
	return block.Of(p.What(), p.Unit)
}

// NotebookShow tells an entry: how it was made, what it rests on and what it says.
func NotebookShow(s *result.NotebookShow) []block.Block {
	title := block.Say("Entry %v: %v", s.ID, s.Kind)
	if s.Label != "" {
		title = block.Say("%v of %v", title, s.Label)
	}
	about := block.Figures{}
	add := func(key, name string, v block.Value) {
		if v.Known() {
			about.List = append(about.List, block.Figure{Key: key, Name: name, Value: v})
		}
	}
	add("note", "note", block.Word(s.Note))
	add("jig", "jig", block.Word(s.Jig))
	for _, k := range s.RestsOn {
		add("rests_on", "rests on", block.Value{Quantity: uncertain.Absent(), Text: block.Say("%v %v, SHA-256 %v…", k.Role, k.Name, k.SHA256[:min(12, len(k.SHA256))])})
	}
	add("files", "recordings", words(s.Files))
	add("kept", "kept", words(s.Kept))
	add("findings", "findings", words(s.Findings))
	if s.Verdict != nil {
		add("verdict", "verdict", block.Word(*s.Verdict))
	}
	add("command", "command", block.Word(s.Command))
	return append([]block.Block{block.Headline{Title: block.Say("%v, made %v", title, made(s.Time))}, about}, EntryResult(s)...)
}

// EntryResult tells the result of an entry as the command that made it does; of one that
// this version does not know, the plain values at its top.
func EntryResult(s *result.NotebookShow) []block.Block {
	doc, err := s.Document()
	if err != nil {
		return Unknown(s.Result)
	}
	return Document(doc)
}

// NotebookPrune tells what was, or would be, deleted.
func NotebookPrune(p *result.NotebookPrune) []block.Block {
	entries := block.Count(p.Entries, "entry")
	switch {
	case p.Entries == 0 && p.Records == 0:
		return sentence(block.Say("There is nothing to delete"))
	case !p.Done && p.Oldest != nil && p.Newest != nil:
		return sentence(block.Say("%v would be deleted, made from %v to %v. Nothing was changed; --yes does it", entries, made(*p.Oldest), made(*p.Newest)))
	case !p.Done:
		return sentence(block.Say("%v would be deleted. Nothing was changed; --yes does it", entries))
	case p.Records == 0:
		return sentence(block.Say("%v deleted", entries))
	}
	return sentence(block.Say("%v deleted, and %v that no entry rests on any more", entries, block.Count(p.Records, "recording")))
}

// NotebookImport tells how many entries an import brought.
func NotebookImport(i *result.NotebookImport) []block.Block {
	return sentence(block.Say("%v added; %v were there already", i.Added, i.Known))
}

// NotebookCheck tells what is damaged.
func NotebookCheck(c *result.NotebookCheck) []block.Block {
	var list []block.Text
	for _, p := range c.Problems {
		text := block.Say("%v", p.What)
		if p.Entry != 0 {
			text = block.Say("entry %v: %v", p.Entry, p.What)
		}
		if p.Mended {
			text = block.Say("%v; mended", text)
		}
		list = append(list, text)
	}
	looked := block.Say("%v, %v looked at", block.Count(c.Entries, "entry"), block.Count(c.Records, "kept recording"))
	if len(list) == 0 {
		looked = block.Say("no faults found: %v", looked)
	}
	if c.Absent > 0 {
		looked = block.Say("%v; %v named but not kept here", looked, block.Count(c.Absent, "recording"))
	}
	return sentence(append(list, looked)...)
}
