package report

import (
	"bytes"
	"fmt"
	"io"
	"strings"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
)

// Calibrate writes for people what a calibration came to; cal is nil where there
// is none.
func Calibrate(w io.Writer, cal *fixture.Calibration, findings []finding.Finding) error {
	var b bytes.Buffer
	if cal != nil {
		Wrap(&b, "", fmt.Sprintf("%s, calibrated at %s", cal.Jig.Name, plural(len(cal.Points), "frequency")))
		fmt.Fprintln(&b)
		rows := [][]string{{"", "with", ""}}
		for _, p := range cal.Points {
			rows = append(rows, []string{nominal(p.FreqHz), strings.Join(p.Standards, ", "), settled(p)})
		}
		columns(&b, rows, padLeft)
	}
	if len(findings) > 0 {
		if cal != nil {
			fmt.Fprintln(&b)
		}
		Findings(&b, findings)
	}
	_, err := w.Write(b.Bytes())
	return err
}

// settled says whether anything was left to assumptions.
func settled(p fixture.Point) string {
	if p.Settled {
		return "all terms settled"
	}
	return "the rest by what is usual of jigs"
}

// calibrateDoc is the schema wheatear.calibrate/1.
type calibrateDoc struct {
	Schema      string            `json:"schema"`
	Frequencies []float64         `json:"frequencies_hz"`
	Findings    []finding.Finding `json:"findings"`
}

// CalibrateJSON writes the outcome of a calibration for programs.
func CalibrateJSON(w io.Writer, freqsHz []float64, findings []finding.Finding) error {
	return writeJSON(w, calibrateDoc{"wheatear.calibrate/1", listed(freqsHz), listed(findings)})
}
