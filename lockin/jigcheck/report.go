package jigcheck

import (
	"fmt"
	"math"
	"slices"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/uncertain"
)

// Codes of faults beside those of lockin.
const (
	Skew       finding.Code = "skew"       // one input is late
	Gain       finding.Code = "gain"       // the inputs do not hear alike
	Crosstalk  finding.Code = "crosstalk"  // one input hears the other
	Loading    finding.Code = "loading"    // an input takes current
	WrongRef   finding.Code = "reference"  // the reference is not what the file says
	Distortion finding.Code = "distortion" // card or source bend a sine
	Contact    finding.Code = "contact"    // resistance changes with each insertion
	Stray      finding.Code = "stray"      // capacitance changes with each insertion
	Residual   finding.Code = "residual"   // more in series or in parallel than leads have
	Drifting   finding.Code = "drift"      // the gains move from recording to recording
	CheckPart  finding.Code = "check-part" // a known part reads as another
	Ambiguous  finding.Code = "reference-or-gain"
)

// Figure is one thing that was measured.
type Figure struct {
	Topic   string // which belongs together
	Name    string
	Channel int     // input counted from 1; 0 for none in particular
	FreqHz  float64 // 0 where frequency plays no part
	Played  float64 // peak of the tone re full scale, where it depends on level; else 0
	Value   uncertain.Quantity
	Unit    string
	Of      int // readings that it was made of, where that matters
}

// Fault is a figure that is not as it should be.
type Fault struct {
	Code     finding.Code
	Severity finding.Severity
	Channel  int
	FreqHz   float64
	Value    uncertain.Quantity // how large it is
	Unit     string
	Limit    float64 // what would have been allowed, in the same unit
	Detail   string
	Advice   string
}

// Finding puts a fault into the form of all findings.
func (f Fault) Finding() finding.Finding {
	return finding.Finding{Code: f.Code, Severity: f.Severity, Channel: f.Channel, FreqHz: f.FreqHz, Detail: f.Detail, Advice: f.Advice}
}

// Looked says what became of a step.
type Looked struct {
	Step       Step
	Recordings int
	Usable     int
	For        string
}

// Report is what an examination came to.
type Report struct {
	Figures  []Figure
	Faults   []Fault
	Notes    []string          // what could not be told, and which step would
	Findings []finding.Finding // of the recordings themselves
	Looked   []Looked
	Allan    []uncertain.Allan // of the ratio of the inputs over averaging time
	Spectra  []Spectrum        // of silence, one for each input
	Model    Verified          // what the jig is like, to be kept
}

// Spectrum is the density of power over frequency, re full scale, per hertz.
type Spectrum struct{ FreqHz, Density []float64 }

// Figure returns a figure by topic and name; nil where there is none.
func (r *Report) Figure(topic, name string, channel int) *Figure {
	for i := range r.Figures {
		if f := &r.Figures[i]; f.Topic == topic && f.Name == name && f.Channel == channel {
			return f
		}
	}
	return nil
}

// Has reports whether a fault of this kind was found.
func (r *Report) Has(codes ...finding.Code) bool {
	return slices.ContainsFunc(r.Faults, func(f Fault) bool { return slices.Contains(codes, f.Code) })
}

// widths is how many standard uncertainties beyond its limit make a figure a fault.
const widths = 4

// normal is a quantity of normal distribution, 95 %.
func normal(value, u float64) uncertain.Quantity {
	const k = 1.959964
	return uncertain.Quantity{Value: value, U: u, Low: value - k*u, High: value + k*u}
}

// beyond reports whether a quantity exceeds a limit in magnitude beyond doubt.
func beyond(q uncertain.Quantity, limit float64) bool {
	return math.Abs(q.Value)-widths*q.U > limit
}

func (x *exam) figure(topic, name string, ch int, freqHz float64, q uncertain.Quantity, unit string) {
	x.out.Figures = append(x.out.Figures, Figure{Topic: topic, Name: name, Channel: ch, FreqHz: freqHz, Value: q, Unit: unit})
}

func (x *exam) fault(f Fault) {
	if f.Severity == "" {
		f.Severity = finding.Warning
	}
	x.out.Faults = append(x.out.Faults, f)
}

func (x *exam) note(format string, args ...any) {
	text := fmt.Sprintf(format, args...)
	if !slices.Contains(x.out.Notes, text) {
		x.out.Notes = append(x.out.Notes, text)
	}
}
