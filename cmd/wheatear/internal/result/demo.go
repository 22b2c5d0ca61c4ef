package result

import (
	"math"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/uncertain"
)

// Demo is the schema wheatear.demo/1: readings of simulated parts, of which the true
// value is known.
type Demo struct {
	Schema   string            `json:"schema"`
	Folder   string            `json:"folder"`
	Readings []DemoReading     `json:"readings"`
	Bench    *DemoBench        `json:"bench,omitempty"`
	Coil     *DemoCoil         `json:"coil,omitempty"`
	Findings []finding.Finding `json:"findings,omitempty"`
}

// DemoSchema is what a Demo says it is.
const DemoSchema = "wheatear.demo/1"

// DemoReading is a reading beside the true value, both null where it was refused.
type DemoReading struct {
	Part      string             `json:"part"`
	FreqHz    float64            `json:"frequency_hz"`
	Unit      string             `json:"unit"`
	Truth     *float64           `json:"truth"` // what is in the simulated jig
	Reading   uncertain.Quantity `json:"reading"`
	Holds     bool               `json:"holds"` // whether the interval contains the true value
	RefusedBy []finding.Code     `json:"refused_by,omitempty"`
}

// NewDemoReading is a reading r beside the same part as it is at that frequency.
func NewDemoReading(part string, r *Reading, truth impedance.Reading) DemoReading {
	d := DemoReading{Part: part, FreqHz: r.NominalHz, Reading: uncertain.Absent(), RefusedBy: r.Refusals()}
	e, q := r.Main.What()
	at := e.In(truth).Value
	if !r.Trusted || math.IsNaN(q.Value) || math.IsNaN(at) {
		return d
	}
	d.Unit, d.Truth, d.Reading, d.RefusedBy = e.Unit(), &at, q, nil
	d.Holds = q.Low <= at && at <= q.High
	return d
}

// DemoBench is what the simulated jig and card are like.
type DemoBench struct {
	LeadOhm      float64   `json:"lead_ohm"`
	LeadHenry    float64   `json:"lead_h"`
	FixtureFarad float64   `json:"fixture_f"`
	HumHz        float64   `json:"hum_hz"`
	Mismatch     float64   `json:"gain_mismatch"` // input 2 re input 1, less 1
	DelaySamples float64   `json:"delay_samples"`
	ClockPPM     float64   `json:"clock_ppm"`
	TonesHz      []float64 `json:"tones_hz"` // calibrated
	SignalS      float64   `json:"signal_s"` // recorded for the calibration
}

// DemoCoil is the part whose reading misleads near its resonance.
type DemoCoil struct {
	Part        string  `json:"part"`
	ResonanceHz float64 `json:"resonance_hz"`
	Farad       float64 `json:"capacitance_f"` // of its winding
}
