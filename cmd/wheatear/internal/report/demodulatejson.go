package report

import (
	"io"
	"math"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/uncertain"
)

// demodulateDoc is the schema wheatear.demodulate/1.
type demodulateDoc struct {
	Schema   string            `json:"schema"`
	File     string            `json:"file"`
	RateHz   float64           `json:"rate_hz"`
	Frames   int64             `json:"frames"`
	UsedS    [2]float64        `json:"used_s"`
	Tones    []toneDoc         `json:"tones"`
	ClockPPM *float64          `json:"clock_ppm"`
	MainsHz  *float64          `json:"mains_hz"`
	Mains    []lineDoc         `json:"mains"`
	Channels []channelDoc      `json:"channels"`
	Findings []finding.Finding `json:"findings"`
}

type toneDoc struct {
	NominalHz float64            `json:"frequency_nominal_hz"`
	FreqHz    uncertain.Quantity `json:"frequency_hz"`
	Channels  []toneChannelDoc   `json:"channels"`
}

type toneChannelDoc struct {
	Channel    int                `json:"channel"`
	Detected   bool               `json:"detected"`
	InPhase    uncertain.Quantity `json:"in_phase"`
	Quadrature uncertain.Quantity `json:"quadrature"`
	Amplitude  uncertain.Quantity `json:"amplitude"`
	PhaseRad   uncertain.Quantity `json:"phase_rad"`
	Harmonics  []harmonicDoc      `json:"harmonics"`
}

type harmonicDoc struct {
	Order int     `json:"order"`
	Ratio float64 `json:"ratio"`
}

type lineDoc struct {
	Order     int       `json:"order"`
	FreqHz    float64   `json:"frequency_hz"`
	Amplitude []float64 `json:"amplitude"`
}

type channelDoc struct {
	Channel  int      `json:"channel"`
	Peak     *float64 `json:"peak"`
	NoiseRMS *float64 `json:"noise_rms"`
	Offset   *float64 `json:"offset"`
}

// DemodulateJSON writes for programs what a recording holds.
func DemodulateJSON(w io.Writer, d *Demodulation) error {
	doc := demodulateDoc{
		Schema: "wheatear.demodulate/1", File: d.File, RateHz: d.RateHz, Frames: d.Frames, UsedS: [2]float64{d.FromS, d.ToS},
		Tones: []toneDoc{}, ClockPPM: orNull(d.ClockPPM), Mains: []lineDoc{}, Findings: listed(d.Findings),
	}
	if d.MainsHz != 0 {
		doc.MainsHz = orNull(d.MainsHz)
	}
	for _, t := range d.Tones {
		doc.Tones = append(doc.Tones, t.doc())
	}
	for _, l := range d.Lines {
		doc.Mains = append(doc.Mains, lineDoc{l.Order, l.FreqHz, l.Amplitude})
	}
	for i, c := range d.Channels {
		doc.Channels = append(doc.Channels, channelDoc{i + 1, orNull(c.Peak), orNull(c.NoiseRMS), orNull(c.Offset)})
	}
	return writeJSON(w, doc)
}

// doc has null for the phase of a tone that is not there.
func (t Tone) doc() toneDoc {
	doc := toneDoc{NominalHz: t.NominalHz, FreqHz: t.FreqHz}
	for i, c := range t.Channels {
		if !c.Detected {
			c.PhaseRad = uncertain.Absent()
		}
		out := toneChannelDoc{i + 1, c.Detected, c.InPhase, c.Quadrature, c.Amplitude, c.PhaseRad, []harmonicDoc{}}
		for k, h := range c.Harmonics {
			if h != 0 && !math.IsNaN(h) && !math.IsInf(h, 0) { // 0: not fitted
				out.Harmonics = append(out.Harmonics, harmonicDoc{k + 2, h})
			}
		}
		doc.Channels = append(doc.Channels, out)
	}
	return doc
}
