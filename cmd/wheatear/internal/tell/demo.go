package tell

import (
	"math"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/lockin/uncertain"
)

// Demo tells readings of simulated parts beside their true values.
func Demo(d *result.Demo) []block.Block {
	out := []block.Block{
		block.Paragraphs{Text: []block.Text{block.Say("Before real parts: discharge capacitors, unplug boards, switch loudspeakers off")}},
		block.Headline{Title: block.Say("Parts rescued from an old garden-irrigation timer, on a simulated jig. No sound is made.")},
	}
	if d.Bench != nil {
		out = append(out, block.Paragraphs{Text: []block.Text{benchOf(d.Bench)}})
	}
	t := block.Table{Columns: []block.Column{{Name: "part"}, {Name: "frequency"}, {Name: "true value"}, {Name: "reading"}, {Name: "interval"}}}
	covered := 0
	for i := range d.Readings {
		r := &d.Readings[i]
		row := block.Row{Cells: []block.Value{block.Word(r.Part), block.PlaceHz(r.FreqHz)}}
		switch {
		case r.Truth == nil:
			row.Cells = append(row.Cells, block.Value{Quantity: uncertain.Absent()}, block.Word("refused: "+joined(r.RefusedBy, ", ")))
		case r.Holds:
			covered++
			row.Cells = append(row.Cells, alike(*r.Truth, r.Reading, r.Unit), block.Of(r.Reading, r.Unit), block.Word("covers it"))
		default:
			row.Cells = append(row.Cells, alike(*r.Truth, r.Reading, r.Unit), block.Of(r.Reading, r.Unit), block.Word("misses it"))
		}
		t.Rows = append(t.Rows, row)
	}
	t.Notes = []block.Text{block.Say("%v of %v intervals cover the true value; of 95 % intervals about one in twenty need not", covered, len(d.Readings))}
	out = append(out, t)
	if c := d.Coil; c != nil {
		if text := nearResonance(d, c); len(text) > 0 {
			out = append(out, block.Paragraphs{Text: []block.Text{text}})
		}
	}
	return append(out, Findings(d.Findings))
}

// alike is a number to the place of the interval of a reading.
func alike(v float64, q uncertain.Quantity, unit string) block.Value {
	half := (q.High - q.Low) / 2
	digits := 6
	if n := math.Floor(math.Log10(math.Abs(v))) - math.Floor(math.Log10(half)) + 2; n >= 1 && n <= 12 {
		digits = int(n)
	}
	return block.Number(v, unit, digits)
}

// benchOf says what the simulated jig is like, and what corrects it.
func benchOf(b *result.DemoBench) block.Text {
	return block.Say("A resistor of %v is in series with the part, and a sound card records both voltages. As on a real bench there are imperfections that the program is not informed of: "+
		"noise, %v hum, inputs that differ by %v and %v, a clock that is off by %v, leads of %v and %v, strays of %v. "+
		"An open, a short and a load of %v, %v, recorded for %v with %v from %v to %v, correct them",
		block.Rough(1e3, "Ω"), block.Rough(b.HumHz, "Hz"), block.Rough(math.Abs(b.Mismatch), block.Share), block.Rough(b.DelaySamples, "samples"), block.Rough(b.ClockPPM, "ppm"),
		block.Rough(b.LeadOhm, "Ω"), block.Rough(b.LeadHenry, "H"), block.Rough(b.FixtureFarad, "F"),
		block.Rough(1e3, "Ω"), block.Rough(1e-3, block.Share), block.Rough(b.SignalS, "s"), block.Count(len(b.TonesHz), "simultaneous tone"), block.Rough(first(b.TonesHz), "Hz"), block.Rough(last(b.TonesHz), "Hz"))
}

func first(list []float64) float64 {
	if len(list) == 0 {
		return math.NaN()
	}
	return list[0]
}

func last(list []float64) float64 {
	if len(list) == 0 {
		return math.NaN()
	}
	return list[len(list)-1]
}

// nearResonance explains the readings of the coil.
func nearResonance(d *result.Demo, c *result.DemoCoil) block.Text {
	var of []*result.DemoReading
	for i := range d.Readings {
		if r := &d.Readings[i]; r.Part == c.Part && r.Truth != nil {
			of = append(of, r)
		}
	}
	if len(of) < 2 {
		return nil
	}
	low, high := of[0], of[len(of)-1]
	value := func(r *result.DemoReading) block.Value { return block.Number(r.Reading.Value, r.Unit, 3) }
	return block.Say("A reading that misleads: %v reads %v at %v and %v at %v, and both are right. "+
		"Its winding is a capacitor too, of %v, with which it resonates at %v: the nearer a tone is to that, "+
		"the more inductance it shows, and above it the coil reads as a capacitor. "+
		"What counts for the valve is the reading at the frequency at which it works, the lowest. A sweep shows it: %v.svg",
		c.Part, value(low), block.Number(low.FreqHz, "Hz", 3), value(high), block.Number(high.FreqHz, "Hz", 3),
		block.Rough(c.Farad, "F"), block.Number(c.ResonanceHz, "Hz", 3), c.Part)
}
