package result

import "example.org/wheatear/lockin/finding"

// Setup is the schema wheatear.setup/1: a new jig file, and what the inputs recorded of a
// quiet tone.
type Setup struct {
	Schema    string            `json:"schema"`
	File      string            `json:"file"`
	Jig       string            `json:"jig"`        // name
	LevelDBFS *float64          `json:"level_dbfs"` // to be played; null where it is given in volts
	Inputs    []SetupInput      `json:"inputs"`     // empty where nothing was played
	Advice    string            `json:"advice"`     // what to change; empty for nothing
	Findings  []finding.Finding `json:"findings"`
}

// SetupSchema is what a Setup says it is.
const SetupSchema = "wheatear.setup/1"

// SetupInput is one input; null is silence.
type SetupInput struct {
	Input        int      `json:"input"` // of the card, counted from 1
	Carries      string   `json:"carries"`
	QuietDBFS    *float64 `json:"quiet_dbfs"`    // of a quiet tone
	ExpectedDBFS *float64 `json:"expected_dbfs"` // at the level to be played
	NoiseDBFS    *float64 `json:"noise_dbfs"`
}

// FullScale is the schema wheatear.fullscale/1: volts of full scale by a voltmeter, and
// what was at the part meanwhile.
type FullScale struct {
	Schema string     `json:"schema"`
	Jig    string     `json:"jig"`          // name
	File   string     `json:"file"`         // jig file that they were written to
	Volts  [2]float64 `json:"full_scale_v"` // peak, of both inputs
	Level  Level      `json:"level"`
}

// FullScaleSchema is what a FullScale says it is.
const FullScaleSchema = "wheatear.fullscale/1"
