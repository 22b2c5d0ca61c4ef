package report

import (
	"bytes"
	"fmt"
	"io"

	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/uncertain"
)

// FullScale is what came of reading a meter: the volts of full scale, and the level that
// was at the part meanwhile, rms.
type FullScale struct {
	Jig                    *fixture.Jig
	File                   string
	Volts                  [2]float64 // peak
	PartVolts, PartAmperes float64
}

// WriteFullScale writes it for people.
func WriteFullScale(w io.Writer, s *FullScale) error {
	var b bytes.Buffer
	volts := func(v float64) string { return Tie(uncertain.Format(v, 0, "V")) }
	Wrap(&b, "", fmt.Sprintf("Full scale is %s at input %d and %s at input %d, peak: written to %s.",
		volts(round(s.Volts[0])), s.Jig.Inputs[0], volts(round(s.Volts[1])), s.Jig.Inputs[1], s.File))
	Wrap(&b, "", fmt.Sprintf("The level at the part was %s across it, %s through it (rms).",
		volts(round(s.PartVolts)), Tie(uncertain.Format(round(s.PartAmperes), 0, "A"))))
	_, err := w.Write(b.Bytes())
	return err
}

// round keeps the four digits that a meter is good for.
func round(v float64) float64 {
	var out float64
	fmt.Sscanf(fmt.Sprintf("%.4g", v), "%g", &out)
	return out
}

// FullScaleJSON writes it for programs.
func FullScaleJSON(w io.Writer, s *FullScale) error {
	return writeJSON(w, struct {
		Schema string     `json:"schema"`
		Jig    string     `json:"jig"`
		File   string     `json:"file"`
		Volts  [2]float64 `json:"full_scale_v"`
		Level  struct {
			V float64 `json:"part_v_rms"`
			A float64 `json:"part_a_rms"`
		} `json:"level"`
	}{Schema: "wheatear.fullscale/1", Jig: s.Jig.Name, File: s.File, Volts: s.Volts, Level: struct {
		V float64 `json:"part_v_rms"`
		A float64 `json:"part_a_rms"`
	}{s.PartVolts, s.PartAmperes}})
}
