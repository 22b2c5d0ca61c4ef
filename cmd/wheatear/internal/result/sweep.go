package result

import "encoding/json"

// Sweep is the schema wheatear.sweep/1: readings of one part over frequency, in the order
// in which they were made.
type Sweep struct {
	Measurement
	Part     *string  `json:"part"`
	Asked    int      `json:"points_asked"`
	Together bool     `json:"together"` // all tones at once
	SignalS  *float64 `json:"signal_s"` // of recording; null where it is not known
}

// SweepSchema is what a Sweep says it is.
const SweepSchema = "wheatear.sweep/1"

// ReadSweep reads a document of any version.
func ReadSweep(text []byte) (*Sweep, error) {
	var s Sweep
	if err := json.Unmarshal(text, &s); err != nil {
		return nil, err
	}
	Choose(s.Readings, s.As)
	return &s, nil
}
