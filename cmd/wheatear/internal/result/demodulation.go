package result

import (
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/uncertain"
)

// Demodulation is the schema wheatear.demodulate/1: the tones of a recording.
type Demodulation struct {
	Schema   string            `json:"schema"`
	File     string            `json:"file"`
	RateHz   float64           `json:"rate_hz"`
	Frames   int64             `json:"frames"`
	UsedS    [2]float64        `json:"used_s"` // from and to
	Tones    []Tone            `json:"tones"`
	ClockPPM *float64          `json:"clock_ppm"` // how far the clock of the recording is off
	MainsHz  *float64          `json:"mains_hz"`  // null where none was found
	Mains    []MainsLine       `json:"mains"`
	Channels []ChannelFigures  `json:"channels"`
	Steps    []PhaseStep       `json:"phase_steps,omitempty"` // largest of each tone, of a recording too long for memory
	SkippedS float64           `json:"skipped_s,omitempty"`   // left out, since samples are no numbers
	Findings []finding.Finding `json:"findings"`
}

// DemodulationSchema is what a Demodulation says it is.
const DemodulationSchema = "wheatear.demodulate/1"

// Tone is a tone of a recording.
type Tone struct {
	NominalHz float64            `json:"frequency_nominal_hz"`
	FreqHz    uncertain.Quantity `json:"frequency_hz"`
	Channels  []ToneInChannel    `json:"channels"`
}

// ToneInChannel is a tone in one channel; amplitudes are peak re full scale.
type ToneInChannel struct {
	Channel    int                 `json:"channel"`
	Detected   bool                `json:"detected"`
	InPhase    uncertain.Quantity  `json:"in_phase"` // peak re full scale, as are the next two
	Quadrature uncertain.Quantity  `json:"quadrature"`
	Amplitude  uncertain.Quantity  `json:"amplitude"`
	PhaseRad   uncertain.Quantity  `json:"phase_rad"`
	Relative   *uncertain.Quantity `json:"relative_rad,omitempty"` // phase re the first channel that has the tone; missing there
	Harmonics  []HarmonicRatio     `json:"harmonics"`
}

// HarmonicRatio is a harmonic re the tone.
type HarmonicRatio struct {
	Order int     `json:"order"`
	Ratio float64 `json:"ratio"` // re the tone
}

// MainsLine is a multiple of the mains.
type MainsLine struct {
	Order     int       `json:"order"`
	FreqHz    float64   `json:"frequency_hz"`
	Amplitude []float64 `json:"amplitude"` // peak re full scale, of each channel
}

// ChannelFigures is what a channel has beside the tones.
type ChannelFigures struct {
	Channel  int      `json:"channel"`
	Peak     *float64 `json:"peak"` // re full scale, as are the next two
	NoiseRMS *float64 `json:"noise_rms"`
	Offset   *float64 `json:"offset"`
}

// PhaseStep is the largest step of the phase of a tone from segment to segment.
type PhaseStep struct {
	NominalHz float64 `json:"frequency_nominal_hz"`
	Rad       float64 `json:"step_rad"`
	AtS       float64 `json:"at_s"`
	RMSRad    float64 `json:"rms_rad"` // of all steps
}
