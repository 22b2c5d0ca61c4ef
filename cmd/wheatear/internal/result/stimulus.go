package result

import (
	"example.org/wheatear/lockin/spectrum"
	"example.org/wheatear/lockin/stimulus"
)

// Stimulus is the schema wheatear.stimulus/1: the tones to be played.
type Stimulus struct {
	Schema       string         `json:"schema"`
	RateHz       float64        `json:"rate_hz"`
	Frames       int            `json:"frames"`
	Seconds      float64        `json:"seconds"`
	PeriodFrames *int           `json:"period_frames"` // after so many it repeats; null where it does not
	PeakDBFS     float64        `json:"peak_dbfs"`
	CrestFactor  float64        `json:"crest_factor"`
	TurnS        *float64       `json:"turn_s"` // where the sign of all tones turns; null where it does not
	Tones        []StimulusTone `json:"tones"`
}

// StimulusSchema is what a Stimulus says it is.
const StimulusSchema = "wheatear.stimulus/1"

// StimulusTone is one of them.
type StimulusTone struct {
	RequestedHz   float64 `json:"requested_hz"`
	FreqHz        float64 `json:"frequency_hz"`
	AmplitudeDBFS float64 `json:"amplitude_dbfs"`
	PhaseRad      float64 `json:"phase_rad"`
	OnMains       bool    `json:"on_mains"`    // on a multiple of the mains
	OnHarmonic    bool    `json:"on_harmonic"` // on a harmonic of another tone
}

// NewStimulus is the document of a plan.
func NewStimulus(p *stimulus.Plan) *Stimulus {
	doc := &Stimulus{Schema: StimulusSchema, RateHz: p.Config.RateHz, Frames: p.Frames(), Seconds: float64(p.Frames()) / p.Config.RateHz,
		PeakDBFS: spectrum.AmplitudeDB(p.Config.Peak), CrestFactor: p.CrestFactor, Tones: []StimulusTone{}}
	if p.Period != 0 {
		doc.PeriodFrames = &p.Period
	}
	if p.TurnFrame != 0 {
		at := float64(p.TurnFrame) / p.Config.RateHz
		doc.TurnS = &at
	}
	for _, t := range p.Tones {
		doc.Tones = append(doc.Tones, StimulusTone{RequestedHz: t.RequestedHz, FreqHz: t.FreqHz, AmplitudeDBFS: spectrum.AmplitudeDB(t.Amplitude),
			PhaseRad: t.PhaseRad, OnMains: t.OnMains, OnHarmonic: t.OnHarmonic})
	}
	return doc
}
