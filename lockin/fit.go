package lockin

import (
	"fmt"
	"math"

	"example.org/wheatear/lockin/record"
	"gonum.org/v1/gonum/mat"
)

// FitConfig says what a record should hold. The zero value finds the tones itself and
// looks for mains of 50 and of 60 Hz.
type FitConfig struct {
	TonesHz   []float64 // nominal frequencies, at most 0.46 of the rate; empty: found
	Common    bool      // one clock ratio for all tones; default a frequency each
	Exact     bool      // no clock ratio at all: the frequencies are as given
	Harmonics int       // highest that is fitted, 1 to 50; default 5
	MainsHz   float64   // 50 or 60; default both are looked for
	NoMains   bool      // no mains lines are fitted
	Whole     bool      // tones from the first frame to the last; default where the level stands
	FullScale float64   // as in Config
}

// Estimate is what a record holds.
type Estimate struct {
	First, End int     // the frames used are [First, End)
	Origin     float64 // the frame that is t = 0 for phasors: (First+End−1)/2
	Tones      []Tone  // one for each of TonesHz, in order, found or not; without TonesHz those found, by frequency
	Lines      []Tone  // mains lines, by frequency; without Harmonics
	// ClockPPM is how much faster the recording clock ran than that of the tones, with its
	// standard uncertainty; 0 where the tones were found or are Exact.
	ClockPPM, ClockUPPM float64
	Offset, NoiseRMS    []float64 // per channel, full scale = 1
	// Turn is the frame before which the sign of all tones turns, as that of a stimulus
	// does whose tones lie on a mains multiple (stimulus.Plan.TurnFrame); 0 where none
	// does. Tone and hum of one frequency are then told apart: Tones have the sign of the
	// tones before it, and Lines the hum under them.
	Turn int

	analysis *record.Analysis
}

// Tone is a tone or a mains line of a record.
type Tone struct {
	NominalHz       float64 // as asked for, or as found
	FreqHz, FreqUHz float64 // by the recording clock, with standard uncertainty
	// Phasors are the complex amplitudes per channel: peak, full scale = 1, t = 0 at Origin.
	Phasors   []complex128
	Detected  []bool         // per channel: above the noise, with a chance of 1e-4 to be noise
	Harmonics [][]complex128 // [channel][k] is harmonic k+2
	HarmonicU []float64      // per channel and axis
	HiddenU   []float64      // per channel and axis: of a mains line that may hide under the tone
	// Cov is the covariance of Phasors from noise, ordered Re 1, Im 1, Re 2, …, with Dof
	// degrees of freedom. In digital silence it is not a number; nil for mains lines.
	Cov *mat.SymDense
	Dof float64
}

// Fit finds the tones of a record with their covariance, by one least-squares fit of
// tones, harmonics, mains lines of free frequency and drift, offset and slow drift of all
// channels at once. It is at the Cramér–Rao bound, and free of leakage. Tones that are
// not there, and silence, are no error: they are not Detected. It uses a copy of the
// record and about four times its memory, and is safe to call from several goroutines at
// once.
//
// The error wraps [ErrConfig], or [ErrSignal] where there are too few frames, no channels,
// or tones too close together for the length of the record.
//
// The fit is that of IEEE Std 1057, with the nuisance lines in the same normal equations.
func Fit[T Sample](in Frames[T], rateHz float64, cfg FitConfig) (*Estimate, error) {
	if err := cfg.check(in.channels, rateHz); err != nil {
		return nil, err
	}
	full := cfg.FullScale
	if full == 0 {
		full = fullScale[T]()
	}
	sig := record.Signal{RateHz: rateHz, Channels: make([][]float64, in.channels)}
	for ch := range sig.Channels {
		sig.Channels[ch] = make([]float64, in.n)
	}
	in.copyTo(sig.Channels, 0, 0, in.n, 1/full)
	a, err := record.Fit(sig, record.Config{TonesHz: cfg.TonesHz, MainsHz: cfg.MainsHz, MaxHarmonic: cfg.harmonics(),
		Whole: cfg.Whole, NoMains: cfg.NoMains, Common: cfg.Common, Exact: cfg.Exact})
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrSignal, err)
	}
	return estimateOf(a), nil
}

func (c FitConfig) harmonics() int {
	if c.Harmonics == 0 {
		return 5
	}
	return c.Harmonics
}

// highestFitted is how far up, as a share of the rate, a tone may lie.
const highestFitted = 0.46

func (c FitConfig) check(channels int, rateHz float64) error {
	switch {
	case !positive(rateHz):
		return refuse("Fit at %g frames per second", rateHz)
	case channels == 0:
		return fmt.Errorf("%w: no channels", ErrSignal)
	case len(c.TonesHz) > mostPhasors/channels:
		return refuse("FitConfig has %d tones for %d channels, want at most %d phasors", len(c.TonesHz), channels, mostPhasors)
	case c.Harmonics < 0 || c.Harmonics > 50:
		return refuse("FitConfig.Harmonics is %d, want 1 to 50, or 0 for the default", c.Harmonics)
	case c.MainsHz != 0 && c.MainsHz != 50 && c.MainsHz != 60:
		return refuse("FitConfig.MainsHz is %g, want 50, 60, or 0 for both", c.MainsHz)
	case c.Common && c.Exact:
		return refuse("FitConfig has Common and Exact, want one")
	case (c.Common || c.Exact) && len(c.TonesHz) == 0:
		return refuse("FitConfig.Common and Exact need TonesHz")
	case c.FullScale != 0 && !positive(c.FullScale):
		return refuse("FitConfig.FullScale is %g, want a sample value above 0", c.FullScale)
	}
	for i, f := range c.TonesHz {
		if !(f > 0 && f <= highestFitted*rateHz) {
			return refuse("FitConfig.TonesHz[%d] is %g Hz, want above 0 and at most %g Hz", i, f, highestFitted*rateHz)
		}
	}
	return nil
}

func estimateOf(a *record.Analysis) *Estimate {
	e := &Estimate{First: a.First, End: a.End, Origin: float64(a.First+a.End-1) / 2,
		ClockPPM: a.ClockPPM, ClockUPPM: a.ClockUPPM, Offset: a.Offset, NoiseRMS: a.NoiseRMS, Turn: a.Turn, analysis: a}
	for _, t := range a.Tones {
		e.Tones = append(e.Tones, Tone{NominalHz: t.NominalHz, FreqHz: t.FreqHz, FreqUHz: t.FreqUHz, Phasors: t.Phasors,
			Detected: t.Detected, Harmonics: t.Harmonics, HarmonicU: t.HarmonicU, HiddenU: t.LineU, Cov: t.Cov, Dof: t.Dof})
	}
	for _, l := range a.Mains.Lines {
		e.Lines = append(e.Lines, Tone{NominalHz: math.Round(a.Mains.FreqHz/10) * 10 * float64(l.Order), FreqHz: l.FreqHz,
			FreqUHz: a.Mains.FreqUHz * float64(l.Order), Phasors: l.Phasors, Detected: l.Detected})
	}
	return e
}

// Model writes to dst what the fit says a channel holds from frame first on: the record
// less the model is the residual. Outside of First to End the model goes on as it is
// inside. It panics where there is no such channel, or for an Estimate that is not from
// Fit.
func (e *Estimate) Model(dst []float64, channel, first int) { e.analysis.Model(dst, channel, first) }
