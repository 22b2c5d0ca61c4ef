package report

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"regexp"
	"strings"

	"example.org/wheatear/lockin/impedance"
)

// Measure writes readings for people.
func Measure(w io.Writer, m *Measurement) error {
	var b bytes.Buffer
	m.heading(&b)
	if len(m.Readings) == 1 {
		m.single(&b, m.Readings[0])
	} else if len(m.Readings) > 1 {
		m.table(&b)
	}
	m.verdicts(&b)
	for _, r := range m.Readings {
		m.details(&b, r)
	}
	if intervals.Match(b.Bytes()) {
		fmt.Fprintln(&b, "\n± is half of the 95 % interval; (a to b) are its ends.")
	}
	if len(m.Findings) > 0 {
		fmt.Fprintln(&b)
		Findings(&b, m.Findings)
	}
	_, err := w.Write(b.Bytes())
	return err
}

// intervals finds the marks of an interval.
var intervals = regexp.MustCompile(`±|\(\S+ to `)

// heading says which jig and which calibration.
func (m *Measurement) heading(w io.Writer) {
	correction := "uncorrected"
	if m.Cal != nil {
		correction = "corrected by " + m.Calibration
		if !m.Cal.About.Date.IsZero() {
			correction += " of " + m.Cal.About.Date.Format("2006-01-02")
		}
	}
	Wrap(w, "", m.Jig.Name+", "+correction)
}

// source names the recordings in a few words.
func (m *Measurement) source() string {
	if len(m.Files) == 1 {
		return m.Files[0]
	}
	return plural(len(m.Files), "recording")
}

// single writes one reading as a sheet.
func (m *Measurement) single(w io.Writer, r *Reading) {
	Wrap(w, "", m.source()+" "+Tie("at "+nominal(r.NominalHz))+r.is())
	fmt.Fprintln(w)
	if !r.Trusted {
		fmt.Fprintf(w, "  refused: %s\n", r.refused())
		return
	}
	pairs(w, equivalents(r.Corrected.Reading))
	m.figures(w, r)
	if hint := r.Corrected.Reading.Hint; hint != impedance.NoHint {
		Wrap(w, "  → ", string(hint)+".")
	}
}

// is says what the part is, behind a colon, where that can be said.
func (r *Reading) is() string {
	reading := r.Corrected.Reading
	switch {
	case !r.Trusted:
		return ""
	case reading.State == impedance.Open || reading.State == impedance.Short:
		return ": " + string(reading.State) + ", as far as this jig can tell"
	case reading.Dominance.Kind == impedance.Undecided:
		return ""
	}
	return ": " + string(reading.Dominance.Kind)
}

// refused lists why a reading is not to be trusted.
func (r *Reading) refused() string {
	var list []string
	for _, c := range r.refusals() {
		list = append(list, string(c))
	}
	return strings.Join(list, ", ")
}

// pairs writes equivalents, aligned where they fit on a line each.
func pairs(w io.Writer, list []equivalent) {
	column, fits := 0, true
	for _, e := range list {
		column = max(column, width(e.text()))
	}
	for _, e := range list {
		fits = fits && 2+column+2+width(e.rest()) <= Columns
	}
	for _, e := range list {
		if fits {
			fmt.Fprintf(w, "  %s  %s\n", padRight(e.text(), column), e.rest())
		} else {
			fmt.Fprintf(w, "  %s\n      %s\n", e.text(), e.rest())
		}
	}
}

// figures writes what follows from the impedance, a line each.
func (m *Measurement) figures(w io.Writer, r *Reading) {
	line := func(name, text string) { Wrap(w, "  "+padRight(name, 8), Tie(text)) }
	reading := r.Corrected.Reading
	if name, q := loss(reading); known(q) {
		line(name, full(q, ""))
	}
	if known(reading.Modulus) {
		line("|Z|", full(reading.Modulus, "Ω"))
	}
	if known(reading.Phase) {
		line("phase", full(degrees(reading.Phase), "°"))
	}
	line("level", m.level(r))
}

// level says what the part was exposed to, or else how much the inputs heard.
func (m *Measurement) level(r *Reading) string {
	if !math.IsNaN(r.Level.VoltRMS) && !math.IsNaN(r.Level.AmpereRMS) {
		return rough(r.Level.VoltRMS, "V") + " across the part, " + rough(r.Level.AmpereRMS, "A") + " through it (rms)"
	}
	var list []string
	if tone := r.Observations[0].Analysis.Tone(r.NominalHz); tone != nil {
		for i, p := range tone.Phasors {
			list = append(list, dbfs(modulus(p))+" "+m.Jig.Channels[i].String())
		}
	}
	return strings.Join(list, ", ")
}

// details writes what was asked for beside the reading.
func (m *Measurement) details(w io.Writer, r *Reading) {
	if r.Result == nil {
		return
	}
	if m.Budget {
		fmt.Fprintln(w)
		budget(w, r)
	}
	if m.Explain {
		fmt.Fprintln(w)
		m.explain(w, r)
	}
}
