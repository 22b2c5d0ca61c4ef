package record

import (
	"gonum.org/v1/gonum/mat"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/internal/joint"
)

// Config says what a record should hold. The zero value finds the tones itself
// and looks for mains of 50 and of 60 Hz.
type Config struct {
	// TonesHz are the nominal frequencies played; empty: the tones are found.
	TonesHz []float64
	// MainsHz is 50 or 60; 0 looks for both.
	MainsHz float64
	// MaxHarmonic is the highest harmonic of a tone that is fitted; 0 means 9. Of those
	// above the fourth only the odd ones are, which tell of inputs that compress.
	MaxHarmonic int
	// Stepped says that TonesHz are tones of a series of records, of which this
	// one may hold only some: those that are not found are left out instead of
	// being reported.
	Stepped bool
	// Whole says that the tones last from the first frame to the last: no stretch is
	// looked for where the level stands.
	Whole bool
	// NoMains fits no mains lines.
	NoMains bool
	// Common fits one clock ratio for all tones, Exact none: their frequencies are right.
	Common, Exact bool
}

// Analysis is what one record holds: tones with their uncertainty, mains lines,
// noise, and what a person must know.
type Analysis struct {
	RateHz             float64
	Bits               int // as in Signal
	Frames, First, End int // frames in the record; the part used is [First, End)

	// Turn is the frame before which the sign of the tones turns; 0 where it does not.
	// Phasors have the sign of the tones before it.
	Turn int

	Tones []ToneFit // ordered as Config.TonesHz, or by frequency where found

	// ClockPPM is how much faster the recording clock ran than the playing one, the
	// weighted mean over the tones asked for (a tone that appears low gives a positive
	// figure).
	ClockPPM, ClockUPPM float64

	Mains MainsFit

	Offset   []float64 // per channel, mean value re full scale
	NoiseRMS []float64 // per channel, rms of what no model explains, re full scale
	Peak     []float64 // per channel, largest magnitude re full scale
	Silent   []bool    // per channel: digital silence, every sample the same

	Findings []finding.Finding

	model      *joint.Fit // without its residual; nil where nothing was fitted
	modelFirst int        // the frame where it begins
}

// ToneFit is one tone of a record.
type ToneFit struct {
	NominalHz       float64 // as asked for; as found where nothing was asked
	FreqHz, FreqUHz float64 // against the recording clock, with standard uncertainty

	// Phasors holds the complex amplitude in each channel: peak, re full scale,
	// time origin in the middle of the part used.
	Phasors []complex128
	// Cov is the covariance of the phasors from noise alone, ordered Re 1, Im 1,
	// Re 2, Im 2, …; it has 2C rows for C channels.
	Cov *mat.SymDense
	// Dof is the number of degrees of freedom of Cov.
	Dof float64
	// LineU is, per channel and per axis, the standard uncertainty of a mains
	// line that may hide under the tone; 0 where none can.
	LineU []float64
	// RatioHalf is how far the ratio of two channels may be off since it moved during
	// the record: a half-width, relative; 0 where it stood still.
	RatioHalf float64
	// RoundU is, per channel and per axis, the standard uncertainty that rounding
	// without dither leaves, alike in every record of the same levels.
	RoundU []float64

	// Harmonics[ch][k] is harmonic k+2 of the tone, time origin as Phasors; 0 in all
	// channels where it was not fitted.
	Harmonics [][]complex128
	// HarmonicU is, per channel and per axis, the standard uncertainty of a harmonic:
	// the largest of those that were fitted.
	HarmonicU []float64
	// HarmonicCov[k] is the covariance of harmonic k+2 from noise, ordered as Cov; nil
	// where that harmonic was not fitted.
	HarmonicCov []*mat.SymDense
	// Detected says in which channels the tone rises above the noise.
	Detected []bool
}

// MainsFit is the hum in a record. FreqHz is 0 where no mains line was found.
type MainsFit struct {
	FreqHz, FreqUHz float64
	Lines           []LineFit
}

// LineFit is one mains line.
type LineFit struct {
	Order     int       // multiple of the mains frequency
	FreqHz    float64   // Order times the fitted mains frequency
	Amplitude []float64 // per channel, peak re full scale
	// Phasors as those of tones; Detected says in which channels the line rises above the
	// noise.
	Phasors  []complex128
	Detected []bool
}

// Tone returns the fit whose nominal frequency is nearest to freqHz, or nil
// where there is none.
func (a *Analysis) Tone(freqHz float64) *ToneFit {
	if a == nil {
		return nil
	}
	var best *ToneFit
	for i := range a.Tones {
		t := &a.Tones[i]
		if best == nil || abs(t.NominalHz-freqHz) < abs(best.NominalHz-freqHz) {
			best = t
		}
	}
	return best
}

func abs(x float64) float64 {
	if x < 0 {
		return -x
	}
	return x
}
