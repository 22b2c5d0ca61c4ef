package report

import (
	"encoding/json"
	"math"
	"strconv"
	"strings"

	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/uncertain"
)

// UnmarshalJSON is the inverse of what measure writes. Figures that are missing are
// absent, as are those that are null.
func (d *readingDoc) UnmarshalJSON(text []byte) error {
	type plain readingDoc
	void := plain{Report: impedance.Void(uncertain.Absent()).Report()}
	err := json.Unmarshal(text, &void)
	*d = readingDoc(void)
	return err
}

// reading is what a document says of a reading, as the reports take it.
func (d *readingDoc) reading() impedance.Reading {
	r := impedance.Void(d.Freq)
	r.State, r.Q, r.D = d.State, d.Q, d.D
	r.Re, r.Im, r.Modulus, r.Phase = d.Z.Re, d.Z.Im, d.Z.Modulus, d.Z.Phase
	r.Series, r.Parallel = impedance.Equivalent(d.Series), impedance.Equivalent(d.Parallel)
	if d.Z.Correlation != nil {
		r.Correlation = *d.Z.Correlation
	}
	if d.Dominant != nil {
		r.Dominance.Kind = *d.Dominant
	}
	return r
}

// row is a reading in a table.
func (d *readingDoc) row() []string {
	if !d.Trusted {
		return []string{place(d.NominalHz), "refused" + d.because(), "", ""}
	}
	r := &Reading{Corrected: &fixture.Corrected{NominalHz: d.NominalHz, Reading: d.reading(), Trusted: true}}
	row := r.sweepRow()
	for i := range row {
		row[i] = neat(row[i])
	}
	if d.State != impedance.OK {
		row[1] = string(d.State)
	}
	return row
}

// because names the findings that touch a reading which is refused.
func (d *readingDoc) because() string {
	if len(d.Findings) == 0 {
		return ""
	}
	var list []string
	for _, c := range d.Findings {
		list = append(list, string(c))
	}
	return ": " + strings.Join(list, ", ")
}

func (f *facts) measure(result json.RawMessage) {
	doc := decode[measureDoc](result)
	f.readings("", doc.Readings)
	f.findings(doc.Findings)
	f.setting(&doc.Jig, doc.Calibration, nil)
}

func (f *facts) sweep(result json.RawMessage) {
	doc := decode[sweepDoc](result)
	f.section("")
	n := len(doc.Readings)
	asked := plural(doc.Asked, "point")
	if n < doc.Asked {
		asked += " asked for, " + plural(n, "reading")
	}
	if doc.Asked > 0 {
		f.fact("points", asked, f.span(doc.Readings)...)
	}
	if doc.Together {
		f.fact("tones", "all at once")
	}
	if doc.SignalS != nil {
		f.fact("recorded", uncertain.Format(round3(*doc.SignalS), 0, "s"))
	}
	f.readings("", doc.Readings)
	f.findings(doc.Findings)
	f.setting(&doc.Jig, doc.Calibration, doc.Part)
}

// span says from where to where readings go, if they go anywhere.
func (f *facts) span(list []readingDoc) []string {
	low, high := math.Inf(1), 0.0
	for _, r := range list {
		low, high = min(low, r.NominalHz), max(high, r.NominalHz)
	}
	if len(list) < 2 {
		return nil
	}
	if low == high {
		return []string{"all at " + place(low)}
	}
	return []string{place(low) + " to " + place(high)}
}

// setting says what a result was measured with.
func (f *facts) setting(jig, calibration, part *string) {
	f.section("Measured with")
	f.fact("part", or(part, ""))
	f.fact("jig", or(jig, ""))
	if jig != nil && *jig != "" {
		f.fact("calibration", or(calibration, "none"))
	}
}

// readings tells one in full, and of several a table.
func (f *facts) readings(title string, list []readingDoc) {
	f.section(title)
	switch {
	case len(list) == 1:
		f.one(&list[0])
	case len(list) > 1:
		rows := [][]string{{"", "reads as", "phase", "|Z|"}}
		for i := range list {
			rows = append(rows, list[i].row())
		}
		f.table(rows)
	}
	f.judged(list)
}

// one tells a reading in full.
func (f *facts) one(d *readingDoc) {
	f.fact("at", place(d.NominalHz))
	if !d.Trusted {
		f.fact("refused", strings.TrimPrefix(d.because(), ": "))
		return
	}
	r := d.reading()
	q, unit, name := Main(r)
	f.quantity(name, q, unit)
	for _, e := range []struct {
		link string
		of   impedance.Equivalent
	}{{"in series", r.Series}, {"in parallel", r.Parallel}} {
		var texts []string
		for _, x := range elements(e.of) {
			texts = append(texts, x.Letter+" "+x.Text)
		}
		f.fact(e.link, strings.Join(texts, ", "))
	}
	if unit != "Ω" || name != "|Z|" {
		f.quantity("|Z|", r.Modulus, "Ω")
	}
	f.quantity("phase", degrees(r.Phase), "°")
	which, pure := loss(r)
	f.quantity(which, pure, "")
	f.quantity("R", r.Re, "Ω")
	f.quantity("X", r.Im, "Ω")
	f.fact("at the part", f.across(d.Level))
}

// quantity adds a quantity of which anything is known.
func (f *facts) quantity(name string, q uncertain.Quantity, unit string, remark ...string) {
	if known(q) {
		f.fact(name, neat(short(q, unit)), remark...)
	}
}

// across says what a part was exposed to.
func (f *facts) across(l levelDoc) string {
	var list []string
	if l.PartVRMS != nil {
		list = append(list, f.volts(*l.PartVRMS)+" across it")
	}
	if l.PartARMS != nil && !f.relative {
		list = append(list, uncertain.Format(round3(*l.PartARMS), 0, "A")+" through it")
	}
	if len(list) == 0 {
		return ""
	}
	return strings.Join(list, ", ") + " (rms)"
}

// volts is a level: absolute where full scale is known.
func (f *facts) volts(v float64) string {
	if f.relative && v > 0 {
		return dbfs(v * math.Sqrt2)
	}
	return uncertain.Format(round3(v), 0, "V")
}

// judged tells the verdicts on readings.
func (f *facts) judged(list []readingDoc) {
	for _, d := range list {
		v := d.Verdict
		if v == nil {
			continue
		}
		name := string(v.Outcome)
		if len(list) > 1 {
			name += " at " + place(d.NominalHz)
		}
		text := v.Expected
		var more []string
		if unit := unitOf(v.Quantity); v.Low != nil && v.High != nil {
			more = append(more, sixDigits(*v.Low, unit)+" to "+sixDigits(*v.High, unit))
		}
		if v.Conformance != nil {
			more = append(more, "it conforms with a probability of "+chance(*v.Conformance))
		}
		if v.EnoughU != nil {
			more = append(more, "a standard uncertainty of "+rough(*v.EnoughU, unitOf(v.Quantity))+" would decide")
		}
		f.fact(name, text, more...)
	}
}

// sixDigits writes a number that was computed from a nominal value, to six digits at the most.
func sixDigits(v float64, unit string) string {
	six, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 6, 64), 64)
	if err != nil {
		return "—"
	}
	return uncertain.Format(six, 0, unit)
}

// unitOf is the unit at the end of a key.
func unitOf(key string) string {
	return map[string]string{"r_ohm": "Ω", "c_f": "F", "l_h": "H"}[key]
}
