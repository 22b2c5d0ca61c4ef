package report

import (
	"fmt"
	"io"
	"strconv"
	"strings"

	"example.org/wheatear/lockin/spectrum"
	"example.org/wheatear/lockin/stimulus"
)

// PlanTalk tells a person what was planned.
func PlanTalk(w io.Writer, p *stimulus.Plan) {
	seconds := float64(p.Frames()) / p.Config.RateHz
	var tones, mains, harmonic []string
	for _, t := range p.Tones {
		text := nominal(t.FreqHz)
		if t.FreqHz != t.RequestedHz {
			text += " (for " + nominal(t.RequestedHz) + ")"
		}
		tones = append(tones, Tie(text))
		if t.OnMains {
			mains = append(mains, Tie(nominal(t.FreqHz)))
		}
		if t.OnHarmonic {
			harmonic = append(harmonic, Tie(nominal(t.FreqHz)))
		}
	}
	Wrap(w, "", fmt.Sprintf("%s, %s at %g samples per second: %s.",
		plural(len(p.Tones), "tone"), Tie(fixed(seconds, 3)+" s"), p.Config.RateHz, strings.Join(tones, ", ")))
	Wrap(w, "", fmt.Sprintf("Peak %.1f dBFS, crest factor %s.",
		spectrum.AmplitudeDB(p.Config.Peak), strconv.FormatFloat(p.CrestFactor, 'f', 2, 64)))
	switch {
	case p.TurnFrame != 0:
		Wrap(w, "", fmt.Sprintf("On a multiple of the mains: the sign of the tone turns at %s, by which a reading separates hum from the tone. Play and record the file as a whole.",
			Tie(fixed(float64(p.TurnFrame)/p.Config.RateHz, 3)+" s")))
	case len(mains) > 0:
		Wrap(w, "", "On a multiple of the mains, where hum cannot be told from the tone: "+
			strings.Join(mains, ", ")+". A ~ before the frequency lets it move aside.")
	}
	if len(harmonic) > 0 {
		Wrap(w, "", "On a harmonic of another tone, where distortion cannot be told from the tone: "+
			strings.Join(harmonic, ", ")+". A ~ before the frequency lets it move aside.")
	}
}

// planDoc is the schema wheatear.stimulus/1.
type planDoc struct {
	Schema       string     `json:"schema"`
	RateHz       float64    `json:"rate_hz"`
	Frames       int        `json:"frames"`
	Seconds      float64    `json:"seconds"`
	PeriodFrames *int       `json:"period_frames"`
	PeakDBFS     float64    `json:"peak_dbfs"`
	CrestFactor  float64    `json:"crest_factor"`
	TurnS        *float64   `json:"turn_s"`
	Tones        []planTone `json:"tones"`
}

type planTone struct {
	RequestedHz   float64 `json:"requested_hz"`
	FreqHz        float64 `json:"frequency_hz"`
	AmplitudeDBFS float64 `json:"amplitude_dbfs"`
	PhaseRad      float64 `json:"phase_rad"`
	OnMains       bool    `json:"on_mains"`
	OnHarmonic    bool    `json:"on_harmonic"`
}

// PlanJSON writes a plan for programs.
func PlanJSON(w io.Writer, p *stimulus.Plan) error {
	doc := planDoc{
		Schema: "wheatear.stimulus/1", RateHz: p.Config.RateHz, Frames: p.Frames(),
		Seconds: float64(p.Frames()) / p.Config.RateHz, PeakDBFS: spectrum.AmplitudeDB(p.Config.Peak), CrestFactor: p.CrestFactor,
	}
	if p.Period != 0 {
		doc.PeriodFrames = &p.Period
	}
	if p.TurnFrame != 0 {
		at := float64(p.TurnFrame) / p.Config.RateHz
		doc.TurnS = &at
	}
	for _, t := range p.Tones {
		doc.Tones = append(doc.Tones, planTone{
			RequestedHz: t.RequestedHz, FreqHz: t.FreqHz, AmplitudeDBFS: spectrum.AmplitudeDB(t.Amplitude),
			PhaseRad: t.PhaseRad, OnMains: t.OnMains, OnHarmonic: t.OnHarmonic,
		})
	}
	return writeJSON(w, doc)
}
