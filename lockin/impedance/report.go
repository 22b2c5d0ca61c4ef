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
	Y        ReportY            `json:"y"`
	Series   ReportEquivalent   `json:"series"`
	Parallel ReportEquivalent   `json:"parallel"`
	Q        uncertain.Quantity `json:"q"`
	D        uncertain.Quantity `json:"d"`
	Dominant *Kind              `json:"dominant"`
	Judged   *ReportJudged      `json:"judged,omitempty"` // nil of a reading of nothing
}

// ReportJudged is what was concluded from the quantities, within a Report.
type ReportJudged struct {
	Likeliest  Kind     `json:"likeliest"`  // the kind with the most of the sample; empty where not judged
	Confidence *float64 `json:"confidence"` // [1] its probability
	Passivity  *float64 `json:"passivity"`  // [1] probability that Re Z is not negative
	Fits       Circuit  `json:"fits"`       // the equivalent circuit that fits
	Reason     Reason   `json:"reason"`
	Hint       Hint     `json:"hint"`
}

// ReportZ is the impedance within a Report.
type ReportZ struct {
	Re          uncertain.Quantity `json:"re_ohm"`
	Im          uncertain.Quantity `json:"im_ohm"`
	Correlation *float64           `json:"correlation"` // [1]
	Modulus     uncertain.Quantity `json:"modulus_ohm"`
	Phase       uncertain.Quantity `json:"phase_rad"`
}

// ReportY is the admittance within a Report.
type ReportY struct {
	G       uncertain.Quantity `json:"g_s"`
	B       uncertain.Quantity `json:"b_s"`
	Modulus uncertain.Quantity `json:"modulus_s"`
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
		Y:        ReportY(r.Y),
		Series:   ReportEquivalent(r.Series),
		Parallel: ReportEquivalent(r.Parallel),
	}
	out.Z.Correlation = orNull(r.Correlation)
	if !r.Modulus.IsAbsent() {
		out.Judged = &ReportJudged{r.Dominance.Likeliest, orNull(r.Dominance.Confidence), orNull(r.Passivity), r.Fitting.Circuit, r.Fitting.Reason, r.Hint}
	}
	if r.Dominance.Kind != Undecided {
		out.Dominant = &r.Dominance.Kind
	}
	return out
}

// Reading is the inverse of Report. A report that says nothing of what was concluded,
// as those of older versions, has it concluded anew from its quantities.
func (r Report) Reading() Reading {
	out := Void(r.Freq)
	out.State, out.Q, out.D = r.State, r.Q, r.D
	out.Re, out.Im, out.Modulus, out.Phase = r.Z.Re, r.Z.Im, r.Z.Modulus, r.Z.Phase
	out.Correlation = orNaN(r.Z.Correlation)
	out.Y = Admittance(r.Y)
	out.Series, out.Parallel = Equivalent(r.Series), Equivalent(r.Parallel)
	if r.Dominant != nil {
		out.Dominance = Dominance{*r.Dominant, *r.Dominant, math.NaN()}
	}
	switch j := r.Judged; {
	case j != nil:
		out.Dominance.Likeliest, out.Dominance.Confidence = j.Likeliest, orNaN(j.Confidence)
		out.Passivity = orNaN(j.Passivity)
		out.Fitting, out.Hint = Fitting{j.Fits, j.Reason}, j.Hint
	case !out.Modulus.IsAbsent():
		out.Fitting = fit(out, defaultConfig)
		out.Hint = hint(out, defaultConfig)
	}
	return out
}

func orNull(v float64) *float64 {
	if !finite(v) {
		return nil
	}
	return &v
}

func orNaN(v *float64) float64 {
	if v == nil {
		return math.NaN()
	}
	return *v
}
