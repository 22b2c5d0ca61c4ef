package page

import (
	"fmt"
	"math"
	"math/cmplx"

	"example.org/wheatear/lockin/record"
	"example.org/wheatear/lockin/spectrum"
)

// Heard is what the inputs heard, before anybody makes an impedance of it.
type Heard struct {
	Inputs   []InputHeard `json:"inputs"`
	Clock    string       `json:"clock"`
	Mains    string       `json:"mains"`
	Spectrum *Spectrum    `json:"spectrum,omitempty"`
}

// InputHeard is one input: levels in dB re full scale, null for silence.
type InputHeard struct {
	Carries string   `json:"carries"`
	PeakDB  *float64 `json:"peak_db"`
	ToneDB  *float64 `json:"tone_db"`
	NoiseDB *float64 `json:"noise_db"`
	Text    string   `json:"text"`
}

func (r *reader) heard(a *record.Analysis) *Heard {
	h := &Heard{Inputs: []InputHeard{}}
	tone := a.Tone(r.plan.Tones[0].FreqHz)
	for i := range a.Peak {
		in := InputHeard{Carries: r.desk.jig.Channels[i].String(), PeakDB: decibel(a.Peak[i]), NoiseDB: decibel(a.NoiseRMS[i] * math.Sqrt2)}
		text := "no tone"
		if tone != nil && tone.Detected[i] {
			in.ToneDB = decibel(cmplx.Abs(tone.Phasors[i]))
			text = levelText(r.desk.jig.FullScaleVolt, i, cmplx.Abs(tone.Phasors[i]))
		}
		in.Text = text
		h.Inputs = append(h.Inputs, in)
	}
	h.Clock = fmt.Sprintf("%.1f ppm", a.ClockPPM)
	if half := 1.96 * a.ClockUPPM; half >= 0.05 { // else it is known better than it is shown
		h.Clock += fmt.Sprintf(" ± %.1f", half)
	}
	if a.Mains.FreqHz > 0 {
		h.Mains = fmt.Sprintf("%.2f Hz, %d lines", a.Mains.FreqHz, len(a.Mains.Lines))
	}
	return h
}

// levelText is a level in volts where they are known, else re full scale.
func levelText(fullScale []float64, input int, peak float64) string {
	if input < len(fullScale) {
		return rough(peak*fullScale[input]/math.Sqrt2, "V") + " rms"
	}
	return fmt.Sprintf("%.1f dBFS", spectrum.AmplitudeDB(peak))
}

// decibel is an amplitude in dB re full scale to a tenth; nil for none.
func decibel(x float64) *float64 {
	db := math.Round(10*spectrum.AmplitudeDB(x)) / 10
	if math.IsInf(db, 0) || math.IsNaN(db) {
		return nil
	}
	return &db
}
