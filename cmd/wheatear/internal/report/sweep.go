package report

import (
	"strconv"
	"strings"

	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/lockin/uncertain"
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

// once writes the unit of a value and its uncertainty only behind the latter.
func once(text string) string {
	value, half, ok := strings.Cut(text, " ± ")
	space := strings.LastIndex(half, " ")
	if !ok || space < 0 {
		return text
	}
	return strings.TrimSuffix(value, half[space:]) + " ± " + half
}

// place writes a frequency with five digits, which tell the points of any sweep
// apart; in full they are in JSON and CSV.
func place(freqHz float64) string {
	five, err := strconv.ParseFloat(strconv.FormatFloat(freqHz, 'g', 5, 64), 64)
	if err != nil {
		five = freqHz
	}
	return uncertain.Format(five, 0, "Hz")
}
