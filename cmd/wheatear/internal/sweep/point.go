package sweep

import (
	"math"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/uncertain"
)

// point is a Point in the file: every number in full, null for NaN.
type point struct {
	NominalHz float64           `json:"frequency_nominal_hz"`
	Files     []string          `json:"files"`
	Trusted   bool              `json:"trusted"`
	PartVRMS  *float64          `json:"part_v_rms"`
	PartARMS  *float64          `json:"part_a_rms"`
	Reading   reading           `json:"reading"`
	Findings  []finding.Finding `json:"findings"`
}

// reading has the fields of impedance.Reading.
type reading struct {
	FreqHz      uncertain.Quantity    `json:"frequency_hz"`
	State       impedance.State       `json:"state"`
	Re          uncertain.Quantity    `json:"re_ohm"`
	Im          uncertain.Quantity    `json:"im_ohm"`
	Correlation *float64              `json:"correlation"`
	Modulus     uncertain.Quantity    `json:"modulus_ohm"`
	Phase       uncertain.Quantity    `json:"phase_rad"`
	Admittance  [3]uncertain.Quantity `json:"g_b_modulus_siemens"`
	Series      [3]uncertain.Quantity `json:"series_ohm_f_h"`
	Parallel    [3]uncertain.Quantity `json:"parallel_ohm_f_h"`
	Q           uncertain.Quantity    `json:"q"`
	D           uncertain.Quantity    `json:"d"`
	Kind        impedance.Kind        `json:"kind"`
	Likeliest   impedance.Kind        `json:"likeliest"`
	Confidence  *float64              `json:"confidence"`
	Circuit     impedance.Circuit     `json:"circuit"`
	Reason      impedance.Reason      `json:"reason"`
	Hint        impedance.Hint        `json:"hint"`
	Passivity   *float64              `json:"passivity"`
}

func (p *Point) document() point {
	d := point{
		NominalHz: p.NominalHz, Files: p.Files, Trusted: p.Trusted,
		PartVRMS: orNull(p.Level.VoltRMS), PartARMS: orNull(p.Level.AmpereRMS),
		Reading: documentOf(p.Reading), Findings: append([]finding.Finding{}, p.Findings...),
	}
	return d
}

func (d point) point() *Point {
	p := &Point{Files: d.Files, Corrected: &fixture.Corrected{Findings: d.Findings,
		NominalHz: d.NominalHz, Trusted: d.Trusted, Reading: d.Reading.reading(),
		Level: fixture.PartLevel{VoltRMS: orNaN(d.PartVRMS), AmpereRMS: orNaN(d.PartARMS)},
	}}
	return p
}

func documentOf(r impedance.Reading) reading {
	return reading{
		FreqHz: r.FreqHz, State: r.State, Re: r.Re, Im: r.Im, Correlation: orNull(r.Correlation),
		Modulus: r.Modulus, Phase: r.Phase, Admittance: [3]uncertain.Quantity{r.Y.G, r.Y.B, r.Y.Modulus},
		Series:   [3]uncertain.Quantity{r.Series.R, r.Series.C, r.Series.L},
		Parallel: [3]uncertain.Quantity{r.Parallel.R, r.Parallel.C, r.Parallel.L},
		Q:        r.Q, D: r.D, Kind: r.Dominance.Kind, Likeliest: r.Dominance.Likeliest,
		Confidence: orNull(r.Dominance.Confidence), Circuit: r.Fitting.Circuit, Reason: r.Fitting.Reason,
		Hint: r.Hint, Passivity: orNull(r.Passivity),
	}
}

func (d reading) reading() impedance.Reading {
	return impedance.Reading{
		FreqHz: d.FreqHz, State: d.State, Re: d.Re, Im: d.Im, Correlation: orNaN(d.Correlation),
		Modulus: d.Modulus, Phase: d.Phase,
		Y:      impedance.Admittance{G: d.Admittance[0], B: d.Admittance[1], Modulus: d.Admittance[2]},
		Series: equivalent(d.Series), Parallel: equivalent(d.Parallel), Q: d.Q, D: d.D,
		Dominance: impedance.Dominance{Kind: d.Kind, Likeliest: d.Likeliest, Confidence: orNaN(d.Confidence)},
		Fitting:   impedance.Fitting{Circuit: d.Circuit, Reason: d.Reason}, Hint: d.Hint, Passivity: orNaN(d.Passivity),
	}
}

func equivalent(q [3]uncertain.Quantity) impedance.Equivalent {
	return impedance.Equivalent{R: q[0], C: q[1], L: q[2]}
}

// orNull is a number that may not exist.
func orNull(v float64) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
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
