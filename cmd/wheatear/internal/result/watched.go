package result

import (
	"time"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/uncertain"
)

// WatchedSchema is what a Watched says it is.
const WatchedSchema = "wheatear.watch/1"

// Watched is the schema wheatear.watch/1: one part at one frequency over time.
type Watched struct {
	Schema      string          `json:"schema"`
	Jig         string          `json:"jig"`
	Calibration *string         `json:"calibration"` // file; null for none
	Part        *string         `json:"part"`        // name; null where none was given
	NominalHz   float64         `json:"frequency_nominal_hz"`
	Quantity    string          `json:"quantity"` // Cs, Rp, …
	Unit        string          `json:"unit"`
	EveryS      float64         `json:"every_s"`
	Points      []WatchedPoint  `json:"points"`
	Refused     int             `json:"refused"` // readings without a value that can be trusted, not among the points
	Drift       *Drift          `json:"drift"`   // null where there are too few readings
	Changes     []WatchedChange `json:"changes"` // of the jig, as far as they show between readings
	RestsOn     *Basis          `json:"rests_on"`
}

// WatchedPoint is one reading.
type WatchedPoint struct {
	Time  time.Time          `json:"time"`
	Value uncertain.Quantity `json:"value"`
}

// Drift is a straight line through the readings.
type Drift struct {
	Middle   time.Time          `json:"middle"`
	Value    uncertain.Quantity `json:"value"`     // of the line at the middle, by the scatter of readings alone
	PerHour  uncertain.Quantity `json:"per_h"`     // slope
	Relative uncertain.Quantity `json:"ppm_per_h"` // the same, relative to the value
}

// WatchedChange is something that changed in the jig between two readings.
type WatchedChange struct {
	Time    time.Time       `json:"time"`
	Finding finding.Finding `json:"finding"`
}
