// Package report holds readings with all that others go on computing with, and makes the
// documents of them.
package report

import (
	"fmt"
	"math"
	"math/cmplx"
	"reflect"
	"slices"

	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/spectrum"
	"example.org/wheatear/lockin/uncertain"
)

// Measurement is readings of one part, with all that a document is made of and that
// others go on computing with.
type Measurement struct {
	Jig         *fixture.Jig
	Calibration string               // file, empty for none
	Cal         *fixture.Calibration // nil for none
	Files       []string
	Readings    []*Reading
	Findings    []finding.Finding // of all readings, each once

	As              impedance.Element // what the part is to be read as; the zero Element for what it mostly is
	Chosen          *result.Chosen    // how the frequency was chosen; nil where it was named
	Budget, Explain bool              // what a person asked for beside the readings
	Report          bool              // a report is written, which needs the budget
	Expected        []parts.Marking   // the part that the readings are judged by, as its marking may be read; none for no verdict
}

// Reading is a part at one frequency and what it was read from.
type Reading struct {
	*fixture.Corrected
	Observations []fixture.Observation
	Result       *uncertain.Result  // for budget and explanation; nil where not wanted
	Judgement    *fixture.Judgement // nil where nothing is expected
}

// AddFindings adds those that are not there already.
func (m *Measurement) AddFindings(findings []finding.Finding) {
	for _, f := range findings {
		if !slices.ContainsFunc(m.Findings, func(g finding.Finding) bool { return reflect.DeepEqual(f, g) }) {
			m.Findings = append(m.Findings, f)
		}
	}
}

// Document is the measurement as it is printed, kept and told.
func (m *Measurement) Document() *result.Measurement {
	doc := &result.Measurement{Schema: result.MeasurementSchema, Jig: m.Jig.Name, As: m.As.String(), Chosen: m.Chosen, Readings: []result.Reading{},
		Findings: listed(m.Findings), RestsOn: m.basis()}
	if m.Calibration != "" {
		doc.Calibration = &m.Calibration
	}
	for _, r := range m.Readings {
		doc.Readings = append(doc.Readings, m.reading(r))
	}
	result.SetMain(doc.Readings, m.As)
	return doc
}

// basis is what the readings rest on.
func (m *Measurement) basis() *result.Basis {
	b := &result.Basis{ReferenceOhm: m.Jig.ReferenceOhm, ReferenceTolerance: m.Jig.ReferenceTolerance, Recordings: listed(m.Files)}
	for _, c := range m.Jig.Channels {
		b.Channels = append(b.Channels, c.String())
	}
	if m.Cal == nil {
		return b
	}
	b.Calibrated = &result.Calibrated{Date: m.Cal.About.Date, Card: m.Cal.About.Card, Frequencies: len(m.Cal.Points), Standards: []string{}}
	for _, u := range m.Cal.Used {
		if !slices.Contains(b.Calibrated.Standards, u.Standard) {
			b.Calibrated.Standards = append(b.Calibrated.Standards, u.Standard)
		}
	}
	return b
}

// reading is one of the document. One that is not to be trusted has no figures at all.
func (m *Measurement) reading(r *Reading) result.Reading {
	d := result.Reading{
		NominalHz: r.NominalHz, Report: r.Corrected.Reading.Report(), Trusted: r.Trusted, Findings: codes(r.Findings),
		Level:  result.Level{PartVRMS: orNull(r.Level.VoltRMS), PartARMS: orNull(r.Level.AmpereRMS)},
		Inputs: m.inputs(r), Verdict: result.NewVerdict(r.Judgement),
	}
	if !r.Trusted {
		for _, f := range r.Findings {
			if f.Severity == finding.Invalid && !slices.Contains(d.RefusedBy, f.Code) {
				d.RefusedBy = append(d.RefusedBy, f.Code)
			}
		}
		d.Report = impedance.Void(uncertain.Absent()).Report()
		d.State = r.Corrected.Reading.State
	}
	if r.Result != nil && (m.Budget || m.Report) {
		d.Budget = &result.Budget{Re: sources(r.Result, fixture.OutRe), Im: sources(r.Result, fixture.OutIm)}
	}
	if r.Result != nil && m.Explain {
		d.Explanation = m.explanation(r)
	}
	return d
}

// inputs are what the two inputs heard of the tone.
func (m *Measurement) inputs(r *Reading) (list []result.Input) {
	if len(r.Observations) == 0 {
		return nil
	}
	tone := r.Observations[0].Analysis.Tone(r.NominalHz)
	if tone == nil {
		return nil
	}
	for i, p := range tone.Phasors {
		list = append(list, result.Input{Carries: m.Jig.Channels[i].String(), DBFS: orNull(spectrum.AmplitudeDB(cmplx.Abs(p)))})
	}
	return list
}

func sources(r *uncertain.Result, output int) []result.Source {
	out := []result.Source{}
	for _, c := range r.Budget(output) {
		out = append(out, result.Source{Source: c.Label, U: c.U, Share: c.Share})
	}
	return out
}

// explanation is the way from the recording to a reading.
func (m *Measurement) explanation(r *Reading) *result.Explanation {
	o := r.Observations[0]
	tone := o.Analysis.Tone(r.NominalHz)
	x := &result.Explanation{File: o.File, ReferenceOhm: m.Jig.ReferenceOhm, Standards: []string{}}
	strongest := slices.MaxFunc(tone.Phasors, func(a, b complex128) int {
		if cmplx.Abs(a) < cmplx.Abs(b) {
			return -1
		}
		return 1
	})
	turn := cmplx.Rect(1, -cmplx.Phase(strongest))
	var volts [2]complex128
	for i, p := range tone.Phasors {
		volts[i] = p
		if m.Jig.FullScaleVolt != nil {
			volts[i] *= complex(m.Jig.FullScaleVolt[i], 0)
		}
		p *= turn
		u := math.Sqrt(max(tone.Cov.At(2*i, 2*i), tone.Cov.At(2*i+1, 2*i+1)))
		x.Heard = append(x.Heard, result.Heard{Carries: m.Jig.Channels[i].String(), InPhase: uncertain.NormalQuantity(real(p), u, 0),
			Quadrature: uncertain.NormalQuantity(imag(p), u, 0), DBFS: orNull(spectrum.AmplitudeDB(cmplx.Abs(p))), PhaseRad: cmplx.Phase(p)})
	}
	part, reference := m.Jig.Channels.Inverse(volts[0], volts[1])
	x.Ratio = result.Polar{Modulus: orNull(cmplx.Abs(part / reference)), PhaseRad: orNull(cmplx.Phase(part / reference))}
	raw := m.Jig.Channels.PartOhm(volts[0], volts[1], fixture.Circuit{ReferenceOhm: complex(m.Jig.ReferenceOhm, 0)})
	x.Uncorrected = result.Rectangular{Re: orNull(real(raw)), Im: orNull(imag(raw))}
	reading := r.Corrected.Reading
	if z := complex(reading.Re.Value, reading.Im.Value); !cmplx.IsNaN(z) {
		x.Moved = orNull(cmplx.Abs(z-raw) / cmplx.Abs(z))
		if m.Cal != nil {
			x.Standards = m.standards(r.NominalHz)
		}
	}
	output, of := fixture.OutRe, "re"
	if e, _ := reading.Main(); e.Kind == impedance.Capacitor || e.Kind == impedance.Inductor {
		output, of = fixture.OutIm, "im"
	}
	if list := r.Result.Budget(output); len(list) > 0 {
		x.Limit = &result.Limit{Source: list[0].Label, Share: list[0].Share, Of: of}
	}
	return x
}

// standards are those of the calibrated frequency nearest to this one.
func (m *Measurement) standards(freqHz float64) []string {
	best := m.Cal.Points[0]
	for _, p := range m.Cal.Points {
		if math.Abs(math.Log(p.FreqHz/freqHz)) < math.Abs(math.Log(best.FreqHz/freqHz)) {
			best = p
		}
	}
	return best.Standards
}

// codes lists the codes of findings, each once.
func codes(findings []finding.Finding) []finding.Code {
	out := []finding.Code{}
	for _, f := range findings {
		if !slices.Contains(out, f.Code) {
			out = append(out, f.Code)
		}
	}
	return out
}

// refused lists why a reading is not to be trusted.
func (r *Reading) refused() string {
	text := ""
	for _, f := range r.Findings {
		if f.Severity == finding.Invalid {
			text += fmt.Sprintf(", %s", f.Code)
		}
	}
	return text[min(2, len(text)):]
}
