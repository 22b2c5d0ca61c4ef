package report

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"example.org/wheatear/audio/virtual"
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/uncertain"
)

// Demo is what demo has to tell: readings of parts of which the truth is known.
type Demo struct {
	Jig      virtual.Jig    // as it really is
	Faults   virtual.Faults // likewise
	Tones    []float64      // calibrated, in hertz
	SignalS  float64        // recorded for the calibration
	Rows     []DemoRow
	Findings []finding.Finding // what the records showed, each once

	// The part that misleads at its last frequency.
	Coil        []DemoRow
	ResonanceHz float64
	CoilFarad   float64
}

// DemoRow is a reading beside the truth.
type DemoRow struct {
	Part string
	*Reading
	True impedance.Reading // at the same frequency
}

// AddFindings adds those that are not there already.
func (d *Demo) AddFindings(findings []finding.Finding) {
	m := Measurement{Findings: d.Findings}
	m.AddFindings(findings)
	d.Findings = m.Findings
}

// compared picks what the reading is shown by, and the same of the truth; ok is
// false where the reading has nothing to show.
func (r DemoRow) compared() (read, truth uncertain.Quantity, unit string, ok bool) {
	e, read := r.Corrected.Reading.Main()
	truth = e.In(r.True)
	if !r.Trusted || math.IsNaN(read.Value) || math.IsNaN(truth.Value) {
		return read, truth, "", false
	}
	return read, truth, e.Unit(), true
}

// Holds reports whether the 95 % interval holds the truth.
func (r DemoRow) Holds() bool {
	read, truth, _, ok := r.compared()
	return ok && read.Low <= truth.Value && truth.Value <= read.High
}

// row is the reading in the table.
func (r DemoRow) row() []string {
	row := []string{r.Part, place(r.NominalHz), "", "refused: " + r.refused(), "misses"}
	read, truth, unit, ok := r.compared()
	if !ok {
		return row
	}
	row[2], _, _ = strings.Cut(uncertain.Format(truth.Value, (read.High-read.Low)/2, unit), " ± ")
	row[3] = once(short(read, unit))
	if r.Holds() {
		row[4] = "holds"
	}
	return row
}

// WriteDemo writes the demo for people.
func WriteDemo(w io.Writer, d *Demo) error {
	var b bytes.Buffer
	Wrap(&b, "", "Before real parts: discharge capacitors, unplug boards, switch loudspeakers off.")
	fmt.Fprintln(&b)
	Wrap(&b, "", "Parts rescued from an old garden-irrigation timer, on a simulated jig. No sound is made.")
	fmt.Fprintln(&b)
	Wrap(&b, "", d.bench())
	fmt.Fprintln(&b)
	rows := [][]string{{"", "at", "truth", "reading", "95 %"}}
	held := 0
	for _, r := range d.Rows {
		rows = append(rows, r.row())
		if r.Holds() {
			held++
		}
	}
	columns(&b, rows, padRight)
	fmt.Fprintln(&b)
	Wrap(&b, "", "± is half of the 95 % interval. "+held20(held, len(d.Rows)))
	fmt.Fprintln(&b)
	Wrap(&b, "", d.misleading())
	if len(d.Findings) > 0 {
		fmt.Fprintln(&b)
		Findings(&b, d.Findings)
	}
	_, err := w.Write(b.Bytes())
	return err
}

func held20(held, of int) string {
	return fmt.Sprintf("%d of %d intervals hold the truth; about one in twenty need not, and its line says so.", held, of)
}

// bench says what the jig is like, and what became of that.
func (d *Demo) bench() string {
	ohm, f := rough(d.Jig.LeadOhm, "Ω"), d.Faults
	return fmt.Sprintf("A resistor of %s lies in series with the part, and a sound card records both voltages. "+
		"As on a real bench there are faults that nobody tells the program: noise, %s hum, inputs that differ by %s and %s, "+
		"a clock that is %s off, leads of %s and %s, strays of %s. "+
		"An open, a short and a load of 1 kΩ, 0.1 %%, recorded for %s with %d tones at once from %s to %s, tell it what it needs:",
		Tie("1 kΩ"), Tie(rough(f.Hum.Hz, "Hz")), Tie(percentOf(f.Gain[1])), Tie(fmt.Sprintf("%.2g samples", f.Delay[1])),
		Tie(fmt.Sprintf("%.2g ppm", f.ClockPPM)), Tie(ohm), Tie(rough(d.Jig.LeadHenry, "H")), Tie(rough(d.Jig.FixtureFarad, "F")),
		Tie(fixed(d.SignalS, 1)+" s"), len(d.Tones), Tie(rough(d.Tones[0], "Hz")), Tie(rough(d.Tones[len(d.Tones)-1], "Hz")))
}

// percentOf writes a share with two digits.
func percentOf(share float64) string { return fmt.Sprintf("%.2g %%", 100*math.Abs(share)) }

// misleading explains the reading of the coil.
func (d *Demo) misleading() string {
	if len(d.Coil) < 2 {
		return ""
	}
	first, last := d.Coil[0], d.Coil[len(d.Coil)-1]
	a, _, _, okA := first.compared()
	b, _, unit, okB := last.compared()
	if !okA || !okB {
		return ""
	}
	return fmt.Sprintf("A reading that misleads: %s reads %s at %s and %s at %s, and both are right. "+
		"Its winding is a capacitor too, of %s, with which it resonates at %s: the nearer a tone lies to that, "+
		"the more inductance it shows, and above it the coil reads as a capacitor. "+
		"What counts for the valve is the reading at the frequency at which it works, the lowest. A sweep shows it: %s.svg.",
		first.Part, Tie(threeDigits(a.Value, unit)), Tie(threeDigits(first.NominalHz, "Hz")), Tie(threeDigits(b.Value, unit)), Tie(threeDigits(last.NominalHz, "Hz")),
		Tie(rough(d.CoilFarad, "F")), Tie(threeDigits(d.ResonanceHz, "Hz")), first.Part)
}

// threeDigits writes a number with three digits.
func threeDigits(v float64, unit string) string {
	three, err := strconv.ParseFloat(strconv.FormatFloat(v, 'e', 2, 64), 64)
	if err != nil || math.IsNaN(three) {
		return "—"
	}
	return uncertain.Format(three, 0, unit)
}
