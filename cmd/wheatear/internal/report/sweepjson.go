package report

import (
	"io"

	"example.org/wheatear/lockin/finding"
)

// sweepDoc is the schema wheatear.sweep/1. Its readings are those of
// wheatear.measure/1.
type sweepDoc struct {
	Schema      string            `json:"schema"`
	Jig         string            `json:"jig"`
	Calibration *string           `json:"calibration"`
	Part        *string           `json:"part"`
	Asked       int               `json:"points_asked"`
	Together    bool              `json:"together"`
	SignalS     *float64          `json:"signal_s"`
	Readings    []readingDoc      `json:"readings"`
	Findings    []finding.Finding `json:"findings"`
}

// SweepJSON writes a sweep for programs.
func SweepJSON(w io.Writer, s *Sweep) error {
	m := s.doc()
	doc := sweepDoc{
		Schema: "wheatear.sweep/1", Jig: m.Jig, Calibration: m.Calibration, Asked: s.Asked, Together: s.Together,
		Readings: m.Readings, Findings: m.Findings,
	}
	if s.Part != "" {
		doc.Part = &s.Part
	}
	if s.SignalS > 0 {
		doc.SignalS = &s.SignalS
	}
	return writeJSON(w, doc)
}
