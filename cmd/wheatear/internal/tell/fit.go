package tell

import (
	"math/cmplx"
	"strings"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/lockin/circuit"
	"example.org/wheatear/lockin/uncertain"
)

// Fit tells circuits that were fitted to a sweep.
func Fit(f *result.Fit) []block.Block {
	if len(f.Circuits) == 0 {
		return append([]block.Block{block.Headline{Title: block.Say("%v: no circuit was fitted", sweptName(&f.Swept))}}, sweptEnd(&f.Swept)...)
	}
	best := &f.Circuits[0]
	head := block.Headline{Title: block.Say("%v: %v", sweptName(&f.Swept), sweptPoints(&f.Swept, freqs(best)))}
	if f.Allowed > 0 {
		head.Verdict = "no circuit agrees"
		head.Notes = append(head.Notes, block.Say("None agrees with the sweep within the uncertainty of the readings. What follows allows each point %v of |Z| for what a circuit lacks",
			block.Rough(f.Allowed, block.Share)))
	}
	out := []block.Block{head}
	if len(f.Circuits) > 1 {
		out = append(out, ranking(f))
	}
	for i := range f.Circuits {
		if c := &f.Circuits[i]; i == 0 || c.Rival {
			out = append(out, circuitBlocks(c)...)
		}
	}
	out = append(out, block.Paragraphs{Text: []block.Text{sound(f)}})
	out = append(out, fitCharts(&f.Swept, best, sweptName(&f.Swept))...)
	return append(out, sweptEnd(&f.Swept)...)
}

// ranking lists the circuits that were tried.
func ranking(f *result.Fit) block.Table {
	t := block.Table{Notes: []block.Text{capital(f.Words)},
		Columns: []block.Column{{Name: "circuit"}, {Name: "χ²"}, {Name: "of ν"}, {Name: "criterion"}, {Name: "verdict"}}}
	for i := range f.Circuits {
		c := &f.Circuits[i]
		verdict := "worse"
		switch {
		case c.Agreement == circuit.Disagrees:
			verdict = "does not agree"
		case i == 0:
			verdict = "best"
		case c.Rival:
			verdict = "does as well"
		}
		t.Rows = append(t.Rows, block.Row{Cells: []block.Value{block.Word(c.Name), block.Number(block.OrNaN(c.ChiSquare), "", 4),
			block.Number(float64(c.Dof), "", 9), plus(block.Number(block.OrNaN(c.Delta), "", 3)), block.Word(verdict)}})
	}
	return t
}

// plus writes a plus sign before what is positive.
func plus(v block.Value) block.Value {
	v.Signed = true
	return v
}

// circuitBlocks are a circuit with its values, and how well it agrees.
func circuitBlocks(c *result.Circuit) []block.Block {
	list := block.Figures{Title: "Circuit " + c.Circuit}
	if c.Name != "" && c.Name != c.Circuit {
		list.Title = "Circuit " + c.Name + ": " + c.Circuit
	}
	for _, u := range c.Unknowns {
		list.List = append(list.List, block.Figure{Key: u.Name, Name: u.Name, Value: FittedValue(u)})
	}
	words := []block.Text{residuals(c)}
	for _, n := range c.Notes {
		if n.Code != circuit.NoteDisagrees && n.Code != circuit.NoteUndetermined { // these are in the text above
			words = append(words, block.Say("%v: %v", capital(n.Detail), n.Advice))
		}
	}
	return []block.Block{list, block.Paragraphs{Text: words}}
}

// FittedValue is a value of a circuit with its interval, or the bound that is known.
func FittedValue(u result.Unknown) block.Value {
	q := uncertain.Absent()
	if u.Value != nil {
		q = *u.Value
	}
	switch u.State {
	case circuit.Determined:
		return block.Of(q, u.Unit)
	case circuit.AtBound:
		return block.Value{Text: block.Say("%v, the end of what is possible", block.Number(block.OrNaN(u.Estimate), u.Unit, 3))}
	case circuit.AtLeast:
		return block.Value{Text: block.Say("at least %v", block.Number(q.Low, u.Unit, 3))}
	case circuit.AtMost:
		return block.Value{Text: block.Say("at most %v", block.Number(q.High, u.Unit, 3))}
	}
	return block.Word("not determined by this sweep")
}

// residuals say what chi-square means, and how large residuals are.
func residuals(c *result.Circuit) block.Text {
	r, err := c.Result()
	if err != nil || len(r.Residuals) == 0 {
		return block.Say("%v", string(c.Agreement))
	}
	worst, at := 0.0, 0.0
	for _, e := range r.Residuals {
		if a := cmplx.Abs(e.Z) / cmplx.Abs(e.Model); a >= worst {
			worst, at = a, e.FreqHz
		}
	}
	return block.Say("%v. The residuals are %v of |Z| rms, at most %v, at %v", capital(r.Words()),
		block.Rough(block.OrNaN(c.Rms), block.Share), block.Rough(worst, block.Share), block.PlaceHz(at))
}

// sound says what the check of the sweep and the fit mean together.
func sound(f *result.Fit) block.Text {
	if f.Consistency == nil {
		return block.Say("Fewer than eight points: whether any circuit can have this sweep was not checked")
	}
	text := kramersKronig(f.Consistency)
	if f.Allowed > 0 || f.Consistency.Verdict != circuit.Consistent {
		return text
	}
	check := circuit.Consistency{Verdict: f.Consistency.Verdict}
	return block.Say("%v. %v", text, capital(check.With(&circuit.Result{Agreement: f.Circuits[0].Agreement})))
}

func kramersKronig(c *result.Consistency) block.Text {
	return block.Say("Kramers–Kronig: %v", strings.TrimSuffix(c.Words, "."))
}

// freqs are those of the points that a circuit was fitted to.
func freqs(c *result.Circuit) (list []float64) {
	for _, e := range c.Residuals {
		list = append(list, e.FreqHz)
	}
	return list
}
