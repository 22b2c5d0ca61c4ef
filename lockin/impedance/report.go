package impedance

import (
	"math"

	"example.org/wheatear/lockin/uncertain"
)

// Report is a reading in the shape and under the names that others read: SI
// units, the unit at the end of the key, null for what is absent. It has no
// method of its own, so that it can be embedded beside more keys.
type Report struct {
	Freq     uncertain.Quantity `json:"frequency_hz"`
	State    State              `json:"state"`
	Z        ReportZ            `json:"z"`
	Series   ReportEquivalent   `json:"series"`
	Parallel ReportEquivalent   `json:"parallel"`
	Q        uncertain.Quantity `json:"q"`
	D        uncertain.Quantity `json:"d"`
	Dominant *Kind              `json:"dominant"`
}

// ReportZ is the impedance within a Report.
type ReportZ struct {
	Re          uncertain.Quantity `json:"re_ohm"`
	Im          uncertain.Quantity `json:"im_ohm"`
	Correlation *float64           `json:"correlation"` // [1]
	Modulus     uncertain.Quantity `json:"modulus_ohm"`
	Phase       uncertain.Quantity `json:"phase_rad"`
}

// ReportEquivalent is an equivalent circuit within a Report.
type ReportEquivalent struct {
	R uncertain.Quantity `json:"r_ohm"`
	C uncertain.Quantity `json:"c_f"`
	L uncertain.Quantity `json:"l_h"`
}

// Report returns the reading ready to be encoded.
func (r Reading) Report() Report {
	out := Report{
		Freq: r.FreqHz, State: r.State, Q: r.Q, D: r.D,
		Z:        ReportZ{Re: r.Re, Im: r.Im, Modulus: r.Modulus, Phase: r.Phase},
		Series:   ReportEquivalent(r.Series),
		Parallel: ReportEquivalent(r.Parallel),
	}
	if !math.IsNaN(r.Correlation) {
		out.Z.Correlation = &r.Correlation
	}
	if r.Dominance.Kind != Undecided {
		out.Dominant = &r.Dominance.Kind
	}
	return out
}
