package result

import "example.org/wheatear/lockin/uncertain"

// Explanation is the way from the recording to a reading.
type Explanation struct {
	File         string      `json:"file"`
	Heard        []Heard     `json:"inputs"`
	Ratio        Polar       `json:"ratio"`           // V(part)/V(reference)
	ReferenceOhm float64     `json:"reference_ohm"`   // that the ratio is multiplied by
	Uncorrected  Rectangular `json:"uncorrected_ohm"` // what comes of that
	Standards    []string    `json:"standards"`       // that the correction is by; none for what is usual of jigs
	Moved        *float64    `json:"moved"`           // by the correction, re |Z|
	Limit        *Limit      `json:"limit"`           // the largest source of uncertainty; null where there is none
}

// Heard is the tone in one input, turned so that the stronger input is at 0°.
type Heard struct {
	Carries    string             `json:"carries"`
	InPhase    uncertain.Quantity `json:"in_phase_fs"`
	Quadrature uncertain.Quantity `json:"quadrature_fs"`
	DBFS       *float64           `json:"level_dbfs"`
	PhaseRad   float64            `json:"phase_rad"`
}

// Polar is a ratio by modulus and angle.
type Polar struct {
	Modulus  *float64 `json:"modulus"`
	PhaseRad *float64 `json:"phase_rad"`
}

// Rectangular is an impedance by its parts.
type Rectangular struct {
	Re *float64 `json:"re"`
	Im *float64 `json:"im"`
}

// Limit is the source that contributes most to the uncertainty.
type Limit struct {
	Source string  `json:"source"`
	Share  float64 `json:"share"`
	Of     string  `json:"of"` // re or im, of whose variance
}
