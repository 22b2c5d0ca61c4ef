package report

import (
	"example.org/wheatear/cmd/wheatear/internal/result"
)

// Sweep is readings of one part over frequency, in the order in which they were made.
type Sweep struct {
	Measurement
	Part     string
	Asked    int     // points that were wanted
	Together bool    // all tones at once
	SignalS  float64 // seconds of recording; 0 where they are not known
}

// Document is the sweep as it is printed, kept and told.
func (s *Sweep) Document() *result.Sweep {
	doc := &result.Sweep{Measurement: *s.Measurement.Document(), Asked: s.Asked, Together: s.Together}
	doc.Schema = result.SweepSchema
	if s.Part != "" {
		doc.Part = &s.Part
	}
	if s.SignalS > 0 {
		doc.SignalS = &s.SignalS
	}
	return doc
}
