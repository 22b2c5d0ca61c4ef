package tell

import (
	"math"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/predict"
)

// Quick tells what a part is by a short look at it.
func Quick(q *result.Quick) []block.Block {
	name := block.Say("part")
	if q.Part != nil {
		name = block.Say("%v", *q.Part)
	}
	rests := provenance(q.Jig, q.Calibration, q.RestsOn)
	if q.Reading == nil {
		head := block.Headline{Title: block.Say("%v, a look at %v", name, block.Count(len(q.Readings), "frequency")), Verdict: "undetermined",
			Notes: []block.Text{block.Say("What it is cannot be determined from this look")}}
		return []block.Block{head, readings(q.Readings, result.ElementOf(q.Readings)), Findings(q.Findings),
			block.Advice{Text: []block.Text{block.Say("look at it over frequency: wheatear identify --thorough")}}, rests}
	}
	rests.List = append(rests.List, chosen(q.Chosen))
	z := q.Reading.Reading()
	e, value := q.Reading.Main.What()
	head := block.Headline{Title: block.Say("%v at %v", name, block.Hz(q.Reading.NominalHz)), Verdict: *q.Kind,
		Main: &block.Figure{Key: "main", Name: nameOf(e, z), Value: block.Of(value, e.Unit())}}
	if m := q.Marking; m != nil {
		head.Beside = append(head.Beside, nearestFigure(m))
	}
	add := func(f block.Figure) {
		if f.Value.Known() {
			head.Beside = append(head.Beside, f)
		}
	}
	head.Notes = append(head.Notes, block.Say("Frequency chosen %v", chosen(q.Chosen).Value.Text))
	switch e.Kind {
	case impedance.Capacitor:
		add(element(impedance.Element{Kind: impedance.Resistor, Circuit: impedance.SeriesCircuit}, z))
		add(block.Figure{Key: "d", Name: "dissipation factor D", Value: block.Of(z.D, "")})
	case impedance.Inductor:
		add(element(impedance.Element{Kind: impedance.Resistor, Circuit: impedance.SeriesCircuit}, z))
		add(block.Figure{Key: "q", Name: "quality factor Q", Value: block.Of(z.Q, "")})
	default:
		other, _ := e.Beside(z)
		add(element(other, z))
	}
	table := readings(q.Readings, e)
	table.Hidden = true
	against, beside := doubts(q, e)
	out := []block.Block{head, table}
	if len(against) > 0 {
		out = append(out, block.Paragraphs{Title: "What speaks against it", Text: against})
	}
	out = append(out, esr(q.Readings)...)
	out = append(out, block.Paragraphs{Title: "In circuit", Text: beside})
	return append(out, Findings(q.Findings), rests)
}

// nearestFigure is the preferred value nearest to a part.
func nearestFigure(m *result.Nearest) block.Figure {
	off := block.Say("less than %v", block.Number(1e-4, block.Share, 1))
	if math.Abs(m.Off) >= 5e-5 {
		off = block.Say("%v", plus(block.Rough(m.Off, block.Share)))
	}
	return block.Figure{Key: "nearest", Name: "nearest preferred value", Value: block.Value{Text: block.Say("%v (%v), from which it is off by %v", m.Text, m.Series, off)}}
}

// doubts are what speaks against the kind, and what is to be thought of parts beside it.
func doubts(q *result.Quick, e impedance.Element) (against, beside []block.Text) {
	for _, d := range q.Doubts {
		hz, value := block.PlaceHz(d.Hz), block.Rough(block.OrNaN(d.Value), d.Unit)
		switch d.Kind {
		case predict.OnlyLikely:
			against = append(against, block.Say("No reading shows the kind with 95 %; the surest has a probability of %v", probability(block.OrNaN(d.Value))))
		case predict.OtherKind:
			against = append(against, block.Say("At %v it is mostly a %v: Q is %v there", hz, d.Is, value))
		case predict.Changes:
			against = append(against, block.Say("Its %v changes over frequency: %v at %v", kindWords(e), value, hz))
		case predict.Lossy:
			against = append(against, block.Say("It loses much for a part of its kind: D is %v at %v", value, hz))
		case predict.Across:
			beside = append(beside, block.Say("Towards low frequencies its loss rises as of %v across it: a leak, or a resistor in the circuit", value))
		case predict.Capacitive:
			beside = append(beside, block.Say("About %v lie across it: more than a resistor has by itself", value))
		}
	}
	if len(beside) == 0 {
		beside = append(beside, block.Say("If it is soldered in, whatever lies across it is part of these figures, and they do not show it"))
	}
	return against, append(beside, block.Say("wheatear incircuit bounds what is the part's own"))
}

// kindWords is the quantity of an element without its circuit.
func kindWords(e impedance.Element) string { return impedance.Element{Kind: e.Kind}.Words() }
