package tell

import (
	"strconv"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/result"
)

// Devices tells which sound cards there are, and which pair would serve.
func Devices(d *result.Devices) []block.Block {
	t := block.Table{Columns: []block.Column{{Name: "number"}, {Name: "name"}, {Name: "in"}, {Name: "out"}, {Name: "family", Rank: 2}, {Name: "rates", Rank: 1}}}
	for _, x := range d.Devices {
		mark := ""
		if x.DefaultInput || x.DefaultOutput {
			mark = "*"
			t.Notes = []block.Text{block.Say("* is what the system uses if nothing is asked for")}
		}
		t.Rows = append(t.Rows, block.Row{Cells: []block.Value{block.Word(strconv.Itoa(x.Number) + mark), block.Word(narrow(x.Name)),
			count(x.Inputs), count(x.Outputs), block.Word(x.API), rates(x.RatesHz)}})
	}
	s := d.Simulated
	t.Rows = append(t.Rows, block.Row{Cells: []block.Value{block.Word(""), block.Word("simulated"), count(s.Inputs), count(s.Outputs), block.Word(s.API)}})
	out := []block.Block{t}
	if p := d.Pair; p != nil {
		lines := []string{"[card]", `backend = "portaudio"`, "input = " + strconv.Quote(p.Input)}
		if p.Output != p.Input {
			lines = append(lines, "output = "+strconv.Quote(p.Output))
		}
		out = append(out, block.Paragraphs{Text: []block.Text{block.Say("This pair would serve: %v", p.Why)}}, block.Lines{List: lines})
	}
	return out
}

func count(n int) block.Value { return block.Word(strconv.Itoa(n)) }

// narrow shortens a name, so that the table keeps its columns of numbers; the middle goes,
// since what tells devices apart stands at either end.
func narrow(text string) string {
	const most = 40
	name := []rune(text)
	if len(name) <= most {
		return text
	}
	return string(name[:most/2]) + "…" + string(name[len(name)-most/2+1:])
}

// rates lists rates, the lowest and the highest of many.
func rates(hz []float64) block.Value {
	var list []block.Text
	for _, r := range hz {
		list = append(list, block.Say("%v", block.Hz(r)))
	}
	if n := len(list); n > 3 {
		return block.Value{Text: block.Say("%v to %v", list[0], list[n-1])}
	}
	return block.Value{Text: block.Join(list, ", ")}
}
