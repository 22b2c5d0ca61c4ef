// Package finding holds what a record or a reading shows and a person must know: codes,
// severities, and how they are written.
package finding

import "encoding/json"

// Severity says what a finding does to the readings that it touches.
type Severity string

const (
	// Note informs; the reading stands.
	Note Severity = "note"
	// Warning qualifies; the reading stands with what the finding says.
	Warning Severity = "warning"
	// Invalid voids the readings that the finding touches.
	Invalid Severity = "invalid"
)

// Code names a kind of finding. The codes are part of the command's contract.
type Code string

// The codes a record, a calibration or a reading can give rise to.
const (
	NoSignal      Code = "no-signal"      // a channel that must carry the tone has none
	Clipped       Code = "clipped"        // flat or compressed peaks
	Dropout       Code = "dropout"        // samples missing, zero or repeated
	Mono          Code = "mono"           // both inputs carry one signal
	Swapped       Code = "swapped"        // the two channels are exchanged
	Inverted      Code = "inverted"       // a channel has the wrong polarity
	OffFrequency  Code = "off-frequency"  // the tone is not where it should be
	Clock         Code = "clock"          // play and record clocks differ; corrected
	Hum           Code = "hum"            // mains lines seen and removed
	Interference  Code = "interference"   // something else sits on the tone
	Noise         Code = "noise"          // too little signal for 10 %
	Nonlinear     Code = "nonlinear"      // harmonics rise from the part
	Compression   Code = "compression"    // an input compresses; corrected, with what that leaves
	SeveralClocks Code = "several-clocks" // tones that do not share one clock
	Unsettled     Code = "unsettled"      // the level is still moving
	AutoGain      Code = "auto-gain"      // the gain follows the signal
	LoadsDisagree Code = "loads-disagree" // loads contradict each other beyond their tolerances
	JigChanged    Code = "jig-changed"    // not the jig of the calibration any more
	Resampled     Code = "resampled"      // the system converts the rate
	Offset        Code = "offset"         // a DC offset eats headroom
	NotFinite     Code = "not-finite"     // NaN or infinity among the samples
	Uncalibrated  Code = "uncalibrated"   // no calibration
	Extrapolated  Code = "extrapolated"   // no calibration near this frequency
	Stale         Code = "stale"          // an old calibration
	BeyondRange   Code = "beyond-range"   // the part is too far from the reference
	NonPassive    Code = "non-passive"    // negative resistance beyond its uncertainty
)

// Finding is something that a record shows and a person must know.
type Finding struct {
	Code     Code
	Severity Severity
	File     string   // where it was seen; set by whoever knows the file's name
	Channel  int      // input counted from 1; 0 means all or none in particular
	FreqHz   float64  // the tone it touches; 0 means all
	AtS      *float64 // seconds from the start of the record; nil where time plays no part
	Detail   string   // what was seen, with figures
	Advice   string   // what to do
	Brief    string   // of a note that asks for nothing: what was corrected or removed, in few words; mostly empty
}

// MarshalJSON writes the finding with null for what does not apply.
func (f Finding) MarshalJSON() ([]byte, error) {
	out := struct {
		Code     Code     `json:"code"`
		Severity Severity `json:"severity"`
		File     *string  `json:"file"`
		Channel  *int     `json:"channel"`
		FreqHz   *float64 `json:"frequency_hz"`
		AtS      *float64 `json:"at_s"`
		Detail   string   `json:"detail"`
		Advice   string   `json:"advice"`
		Brief    string   `json:"brief,omitempty"`
	}{Code: f.Code, Severity: f.Severity, AtS: f.AtS, Detail: f.Detail, Advice: f.Advice, Brief: f.Brief}
	if f.File != "" {
		out.File = &f.File
	}
	if f.Channel != 0 {
		out.Channel = &f.Channel
	}
	if f.FreqHz != 0 {
		out.FreqHz = &f.FreqHz
	}
	return json.Marshal(out)
}

// UnmarshalJSON is the inverse of MarshalJSON.
func (f *Finding) UnmarshalJSON(text []byte) error {
	var in struct {
		Code     Code     `json:"code"`
		Severity Severity `json:"severity"`
		File     string   `json:"file"`
		Channel  int      `json:"channel"`
		FreqHz   float64  `json:"frequency_hz"`
		AtS      *float64 `json:"at_s"`
		Detail   string   `json:"detail"`
		Advice   string   `json:"advice"`
		Brief    string   `json:"brief"`
	}
	err := json.Unmarshal(text, &in)
	*f = Finding(in)
	return err
}

// Worst returns the gravest severity among the findings, or "" where there are none.
func Worst(findings []Finding) Severity {
	worst, rank := Severity(""), map[Severity]int{Note: 1, Warning: 2, Invalid: 3}
	for _, f := range findings {
		if rank[f.Severity] > rank[worst] {
			worst = f.Severity
		}
	}
	return worst
}

// Touches reports whether the finding concerns a tone at freqHz.
func (f Finding) Touches(freqHz float64) bool {
	return f.FreqHz == 0 || f.FreqHz == freqHz
}
