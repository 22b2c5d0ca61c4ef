package predict

import (
	"errors"
	"fmt"
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/mat"

	"example.org/wheatear/lockin"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/uncertain"
)

// Card is what is known of the card and of how it is used.
type Card struct {
	RateHz    float64
	Seconds   float64    // of steady tone that is used of each record
	Peak      float64    // of the tone, re full scale
	NoiseRMS  [2]float64 // of the inputs, re full scale, over the whole band
	SourceOhm float64
}

// DefaultNoiseRMS is assumed of inputs that were never looked at: -96 dBFS over the
// whole band, as of an ordinary interface. Common practice, no source.
const DefaultNoiseRMS = 1.6e-5

// Setup is a jig with its card and the load that will calibrate it.
type Setup struct {
	Jig  *fixture.Jig
	Card Card
	// Load of the calibration; nil for one of the value and tolerance of the reference.
	Load *fixture.Load
	// Uncalibrated leaves the standards out.
	Uncalibrated bool
	// Trials of the Monte Carlo run behind each interval; 0 means 1000.
	Trials int
}

func (s *Setup) check() error {
	c := s.Card
	switch {
	case s.Jig == nil:
		return errors.New("predict: no jig")
	case !(c.RateHz > 0) || !(c.Seconds > 0) || !(c.Peak > 0 && c.Peak <= 1) || !(c.NoiseRMS[0] >= 0 && c.NoiseRMS[1] >= 0) || !(c.SourceOhm >= 0):
		return fmt.Errorf("predict: a card of rate %g Hz, %g s, peak %g and noise %v: rate and seconds above zero, peak up to 1, noise and source resistance not negative",
			c.RateHz, c.Seconds, c.Peak, c.NoiseRMS)
	}
	return nil
}

// Calibrated is a setup whose calibration at one frequency has been foretold, so that
// many parts can be predicted with it.
type Calibrated struct {
	setup  Setup
	freqHz float64
	cal    *fixture.Calibration
}

// Calibrate foretells the calibration at a frequency. Errors: a setup that cannot
// be, a frequency that the rate does not hold.
func (s *Setup) Calibrate(freqHz float64) (*Calibrated, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	if !(freqHz > 0) || !(freqHz < 0.45*s.Card.RateHz) {
		return nil, fmt.Errorf("predict: %g Hz is more than a rate of %g Hz carries; stay below 0.45 of it", freqHz, s.Card.RateHz)
	}
	c := &Calibrated{setup: *s, freqHz: freqHz}
	if s.Trials == 0 {
		c.setup.Trials = 1000
	}
	if s.Uncalibrated {
		return c, nil
	}
	load := fixture.Load{Ohm: s.Jig.ReferenceOhm, Tolerance: s.Jig.ReferenceTolerance}
	if s.Load != nil {
		load = *s.Load
	}
	obs := []fixture.Observation{
		c.observe(fixture.Open, nil, cmplx.Inf()), c.observe(fixture.Short, nil, 0),
		c.observe(fixture.LoadRole, &load, complex(load.Ohm, 0)),
	}
	cal, findings, err := fixture.Calibrate(s.Jig, obs, []float64{freqHz}, fixture.About{})
	if err != nil {
		return nil, err
	}
	if cal == nil {
		return nil, fmt.Errorf("predict: this jig could not be calibrated at %g Hz: %s", freqHz, findings[0].Detail)
	}
	c.cal = cal
	return c, nil
}

// Part predicts the reading of an impedance. A reading that will not be trusted, or
// is beyond the jig's range, is no error: its state and findings say so.
func (c *Calibrated) Part(z complex128) (*fixture.Corrected, error) {
	obs := []fixture.Observation{c.observe(fixture.PartRole, nil, z)}
	return fixture.Measure(c.setup.Jig, c.cal, obs, c.freqHz, fixture.Options{Reading: impedance.Config{Trials: c.setup.Trials}})
}

// observe makes the analysis that a record of z would give.
func (c *Calibrated) observe(role fixture.Role, load *fixture.Load, z complex128) fixture.Observation {
	card := c.setup.Card
	first, second := c.setup.Jig.Expected(c.freqHz, card.RateHz, z, card.SourceOhm)
	n := card.Seconds * card.RateHz
	a := &lockin.Analysis{RateHz: card.RateHz, Bits: 24, Frames: int(n), End: int(n), NoiseRMS: card.NoiseRMS[:],
		Peak: []float64{card.Peak, card.Peak}, Offset: []float64{0, 0}}
	tone := lockin.ToneFit{NominalHz: c.freqHz, FreqHz: c.freqHz, Cov: mat.NewSymDense(4, nil), Dof: degrees, LineU: []float64{0, 0},
		Harmonics: [][]complex128{make([]complex128, 4), make([]complex128, 4)}, HarmonicU: []float64{0, 0}}
	for i, v := range []complex128{first, second} {
		u := card.NoiseRMS[i] * math.Sqrt(2/n) // Cramér–Rao bound of each axis
		tone.Phasors = append(tone.Phasors, v*complex(card.Peak, 0))
		tone.Cov.SetSym(2*i, 2*i, u*u)
		tone.Cov.SetSym(2*i+1, 2*i+1, u*u)
		tone.HarmonicU[i] = u
		tone.Detected = append(tone.Detected, cmplx.Abs(v)*card.Peak > 5*u)
	}
	tone.FreqUHz = frequencyU(card, n)
	a.Tones = []lockin.ToneFit{tone}
	return fixture.Observation{Role: role, Load: load, File: string(role), Analysis: a}
}

// degrees of freedom that the noise around a tone has: as many as the estimator
// usually finds.
const degrees = 60

// frequencyU is the bound of the frequency of a tone of the card's peak.
func frequencyU(c Card, n float64) float64 {
	noise := math.Max(c.NoiseRMS[0], c.NoiseRMS[1])
	return math.Sqrt(24) * noise / c.Peak / (2 * math.Pi) / math.Pow(n, 1.5) * c.RateHz
}

// HalfWidth is half of the 95 % interval of a quantity, relative; infinite where it
// is open or absent.
func HalfWidth(q uncertain.Quantity) float64 {
	w := (q.High - q.Low) / 2 / math.Abs(q.Value)
	if math.IsNaN(w) {
		return math.Inf(1)
	}
	return w
}
