package tell

import (
	"math"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/result"
)

// Identity tells what an unknown part is.
func Identity(i *result.Identity) []block.Block {
	sweep := []float64{}
	for _, r := range i.Readings {
		sweep = append(sweep, r.NominalHz)
	}
	if i.Touchstone != nil && i.Circuit != nil {
		sweep = freqs(i.Circuit)
	}
	head := block.Headline{Title: block.Say("%v: %v", sweptName(&i.Swept), sweptPoints(&i.Swept, sweep))}
	if i.Family == nil || *i.Family == "" {
		head.Verdict = "undetermined"
		head.Notes = append(head.Notes, block.Say("What it is cannot be determined from this sweep"))
	} else {
		head.Verdict = string(*i.Family) + ", " + string(i.Confidence) + " confidence"
	}
	name := map[string]string{"Ω": "resistance", "F": "capacitance", "H": "inductance", "Hz": "resonance"}[i.Unit]
	if q := i.Value; q != nil && !math.IsNaN(q.Value) && name != "" {
		head.Main = &block.Figure{Key: "value", Name: name, Value: block.Of(*q, i.Unit)}
		if i.ValueHz != nil {
			head.Main.Remark = block.Say("at %v", block.PlaceHz(*i.ValueHz))
		}
	}
	head.Beside = identityFigures(i, sweep)
	why := block.Paragraphs{Title: "Why"}
	for _, r := range i.Reasons {
		why.Text = append(why.Text, block.Say("%v", r))
	}
	out := []block.Block{head, why}
	if i.Circuit != nil {
		out = append(out, circuitBlocks(i.Circuit)...)
		out = append(out, fitCharts(&i.Swept, i.Circuit, sweptName(&i.Swept))...)
	}
	if i.Consistency != nil {
		out = append(out, block.Paragraphs{Text: []block.Text{kramersKronig(i.Consistency)}})
	}
	return append(out, sweptEnd(&i.Swept)...)
}

// identityFigures are what is known beside the value.
func identityFigures(i *result.Identity, sweepHz []float64) (list []block.Figure) {
	add := func(key, name, format string, args ...any) {
		list = append(list, block.Figure{Key: key, Name: name, Value: block.Value{Text: block.Say(format, args...)}})
	}
	if m := i.Marking; m != nil {
		list = append(list, nearestFigure(m))
	}
	if q := i.Resonance; q != nil {
		_, high := ends(sweepHz)
		switch {
		case !math.IsNaN(q.Value) && q.Value > high:
			add("resonance", "self-resonance", "%v, beyond the sweep", block.Of(*q, "Hz"))
		case !math.IsNaN(q.Value):
			add("resonance", "self-resonance", "%v", block.Of(*q, "Hz"))
		case q.Low > 0:
			add("resonance", "self-resonance", "above %v", block.Number(q.Low, "Hz", 3))
		}
	}
	if i.LowHz != nil && i.HighHz != nil {
		add("behaves", "behaves so", "from %v to %v, within %v of the value", block.PlaceHz(*i.LowHz), block.PlaceHz(*i.HighHz), block.Number(0.05, block.Share, 1))
	}
	return list
}
