package jigcheck

import "math"

// Limits of what is ordinary, where a jig file states nothing. All are common practice
// without a source; each says what lies beyond.
const (
	ordinarySkew      = 0.4   // samples: half a sample is a converter that takes its inputs in turn
	ordinaryGain      = 0.03  // relative: three of the 1 % that the jig file assumes of inputs
	ordinaryCrosstalk = 2e-4  // two of the 100 ppm that readings allow for
	ordinaryClock     = 28    // ppm: √2 times the 20 ppm of a crystal
	ordinaryHarmonic  = 1e-4  // -80 dB
	ordinaryLevelling = 0.05  // dB that the gain changes with level
	ordinaryNoiseDB   = 10.   // one input above the other
	ordinaryNoise     = 3e-4  // rms, -70 dBFS: noise of a microphone input turned up
	ordinaryHum       = 3e-3  // rms, -50 dBFS: hum that is taken out, but leaves less room and bends
	ordinaryRise      = 1.    // dB above an earlier verification
	ordinaryInputOhm  = 150e3 // an input below takes 1 % where reference or part are 1.5 kΩ
	ordinaryTimes     = 3     // times the spread that jig files assume
	ordinaryLeadOhm   = 0.6   // three of the 0.2 Ω that readings allow for
	ordinaryLeadHenry = 3e-6
	ordinaryFarad     = 600e-12 // three of the 200 pF allowed for an input
	ordinaryRefFarad  = 20e-12  // across the reference, without an input
)

// OrdinaryDoc describes one limit, for help and README.
type OrdinaryDoc struct{ What, Limit string }

// Ordinary lists the limits that hold where a jig file states nothing.
func Ordinary() []OrdinaryDoc {
	return []OrdinaryDoc{
		{"delay between the inputs", "0.4 samples"},
		{"gain between the inputs", "3 %"},
		{"crosstalk", "-74 dB"},
		{"play and record clock", "28 ppm apart"},
		{"harmonics", "-80 dB"},
		{"gain over level", "0.05 dB"},
		{"noise of one input above the other", "10 dB"},
		{"noise", "-70 dBFS rms"},
		{"hum", "-50 dBFS rms"},
		{"flat peaks", "the level of measurements"},
		{"noise and hum above an earlier verification", "1 dB"},
		{"resistance of an input across part or reference", "150 kΩ; with input_resistance: 15 %"},
		{"reference", "reference_tolerance"},
		{"contact and stray", "3 times their keys"},
		{"drift", "3 times its key"},
		{"leads", "0.6 Ω, 3 µH"},
		{"|En| of a check part", "1"},
	}
}

// allowed is the limit of a spread: what the file states, or a multiple of what it
// assumes.
func (e *Evidence) allowed(key string, value float64) float64 {
	if e.Stated[key] {
		return value
	}
	return ordinaryTimes * value
}

// decibels of an amplitude ratio, and a relative uncertainty in decibels.
func decibels(ratio float64) float64 { return 20 * math.Log10(ratio) }
func relativeDB(u float64) float64   { return 20 / math.Ln10 * u }
