package result

import (
	"example.org/wheatear/lockin/circuit"
	"example.org/wheatear/lockin/finding"
)

// Swept is what documents of fitted sweeps have in common: readings over frequency, or
// the Touchstone file they were taken from.
type Swept struct {
	Jig         *string           `json:"jig"`         // nil for a Touchstone file
	Calibration *string           `json:"calibration"` // file; nil for none
	Part        *string           `json:"part"`
	Touchstone  *string           `json:"touchstone"`
	Points      int               `json:"points"`                    // used
	Left        int               `json:"points_left_out,omitempty"` // of a Touchstone file: no circuit is fitted to them
	Consistency *Consistency      `json:"consistency"`               // nil for too few points
	Readings    []Reading         `json:"readings"`
	Findings    []finding.Finding `json:"findings"`
	RestsOn     *Basis            `json:"rests_on,omitempty"` // nil for a Touchstone file, and in documents of older versions
}

// Consistency says whether any circuit can have a sweep.
type Consistency struct {
	Verdict     circuit.Cause `json:"verdict"`
	Words       string        `json:"words"`
	Rms         float64       `json:"rms"`
	ChiSquare   *float64      `json:"chi_square"`
	Dof         int           `json:"dof"`
	Probability *float64      `json:"probability"`
}

// NewConsistency is the document of a check; nil of none.
func NewConsistency(c *circuit.Consistency) *Consistency {
	if c == nil {
		return nil
	}
	return &Consistency{c.Verdict, c.Words(), c.Rms, orNull(c.ChiSquare), c.Dof, orNull(c.Probability)}
}

func (s *Swept) choose() { Choose(s.Readings, "") }
