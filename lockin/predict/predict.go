package predict

import (
	"errors"
	"math"
	"math/cmplx"
	"slices"

	"example.org/wheatear/lockin/internal/errkind"

	"gonum.org/v1/gonum/mat"

	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/record"
	"example.org/wheatear/lockin/stimulus"
	"example.org/wheatear/lockin/uncertain"
)

// ErrSetup is wrapped where nothing can be predicted of a setup or a part.
var ErrSetup = errors.New("predict: nothing can be predicted of this")

// Card is what is known of the card and of how it is used. What moves from one
// recording or insertion to the next (drift, contact, stray) is in the jig.
type Card struct {
	RateHz    float64
	Seconds   float64    // of steady tone in each record
	SilenceS  float64    // before the tone, in which hum is looked for; 0 means 0.3
	Peak      float64    // of the tone as played, re full scale; see Setup
	NoiseRMS  [2]float64 // of the inputs, re full scale, over the whole band
	HumRMS    [2]float64 // likewise, all mains lines together
	SourceOhm float64    // 0 means none, and the reference with a virtual ground
}

// What is assumed of inputs that were never looked at, as of an ordinary interface:
// -96 dBFS of noise over the whole band and -90 dBFS of hum. Common practice, no
// source.
const (
	DefaultNoiseRMS = 1.6e-5
	DefaultHumRMS   = 3e-5
)

const (
	carried      = 0.45 // of the rate: what converters carry well
	usualSilence = 0.3  // as the command plays it
	usualTrials  = 1000
)

// Setup is a jig with its card and the load that will calibrate it.
//
// The source's open voltage is taken to be heard at Peak of the full scale of the less
// sensitive input: that is what a loop from output to input gives that clips nowhere.
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
		return errkind.Errorf(ErrSetup, "predict: no jig")
	case !(c.RateHz > 0) || !(c.Seconds > 0) || !(c.Peak > 0 && c.Peak <= 1) || !levels(c.NoiseRMS) || !levels(c.HumRMS) || !(c.SourceOhm >= 0) || !(c.SilenceS >= 0):
		return errkind.Errorf(ErrSetup, "predict: a card of rate %g Hz, %g s, peak %g, noise %v and hum %v: rate and seconds above zero, peak up to 1, noise and hum from 0 to 1, source resistance not negative",
			c.RateHz, c.Seconds, c.Peak, c.NoiseRMS, c.HumRMS)
	case c.Seconds*c.RateHz < leastFrames || c.Seconds > mostSeconds:
		return errkind.Errorf(ErrSetup, "predict: a record of %g s: use %d samples to %d s", c.Seconds, leastFrames, mostSeconds)
	}
	return nil
}

const (
	leastFrames = 64
	mostSeconds = 3600
)

func levels(v [2]float64) bool { return v[0] >= 0 && v[0] <= 1 && v[1] >= 0 && v[1] <= 1 }

// Calibrated is a setup whose calibration at one frequency has been foretold, so that
// many parts can be predicted with it.
type Calibrated struct {
	setup  Setup
	freqHz float64
	cal    *fixture.Calibration
}

// Calibrate foretells the calibration at a frequency. Errors: a setup that cannot
// be, a frequency that the rate does not hold, standards that this jig would refuse.
func (s *Setup) Calibrate(freqHz float64) (*Calibrated, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	if !(freqHz > 0) || !(freqHz < carried*s.Card.RateHz) {
		return nil, errkind.Errorf(ErrSetup, "predict: %g Hz is more than a rate of %g Hz carries; stay below %g of it", freqHz, s.Card.RateHz, carried)
	}
	c := &Calibrated{setup: s.complete(), freqHz: freqHz}
	if s.Uncalibrated {
		return c, nil
	}
	load := c.setup.Load
	obs := []fixture.Observation{
		c.observe(fixture.Open, nil, cmplx.Inf()), c.observe(fixture.Short, nil, 0),
		c.observe(fixture.LoadRole, load, complex(load.Ohm, 0)),
	}
	cal, err := fixture.Calibrate(s.Jig, obs, []float64{freqHz}, fixture.About{})
	var refused *fixture.RefusedError
	if errors.As(err, &refused) {
		return nil, errkind.Errorf(ErrSetup, "predict: this jig could not be calibrated at %g Hz: %w", freqHz, err)
	}
	if err != nil {
		return nil, err
	}
	c.cal = cal
	return c, nil
}

// complete fills in what is left open.
func (s *Setup) complete() Setup {
	out := *s
	if out.Trials == 0 {
		out.Trials = usualTrials
	}
	if out.Card.SilenceS == 0 {
		out.Card.SilenceS = usualSilence
	}
	if out.Card.SourceOhm == 0 && s.Jig.Channels.Virtual() {
		out.Card.SourceOhm = s.Jig.ReferenceOhm
	}
	if out.Load == nil {
		out.Load = &fixture.Load{Ohm: s.Jig.ReferenceOhm, Tolerance: s.Jig.ReferenceTolerance}
	}
	return out
}

// Part predicts the reading of an impedance. A reading that will not be trusted, or
// is beyond the jig's range, is no error: its state and findings say so.
func (c *Calibrated) Part(z complex128) (*fixture.Corrected, error) {
	if c.setup.Jig == nil {
		return nil, errkind.Errorf(ErrSetup, "predict: nothing is calibrated: use Setup.Calibrate")
	}
	if cmplx.IsNaN(z) {
		return nil, errkind.Errorf(ErrSetup, "predict: the part has no impedance")
	}
	obs := []fixture.Observation{c.observe(fixture.PartRole, nil, z)}
	opt := fixture.Options{Reading: impedance.Config{Trials: c.setup.Trials}}
	if c.cal == nil { // without standards
		return fixture.MeasureUncalibrated(c.setup.Jig, obs, c.freqHz, opt)
	}
	return fixture.Measure(c.setup.Jig, c.cal, obs, c.freqHz, opt)
}

// observe makes the analysis that a record of z would give.
func (c *Calibrated) observe(role fixture.Role, load *fixture.Load, z complex128) fixture.Observation {
	card := c.setup.Card
	first, second := c.setup.Jig.Expected(c.freqHz, card.RateHz, z, card.SourceOhm)
	volt := complex(card.Peak*c.fullScale(), 0)
	n := stimulus.UsedSeconds(card.Seconds, c.freqHz) * card.RateHz
	a := &record.Analysis{RateHz: card.RateHz, Bits: 24, Frames: int(n), End: int(n), NoiseRMS: card.NoiseRMS[:],
		Peak: []float64{card.Peak, card.Peak}, Offset: []float64{0, 0}}
	tone := record.ToneFit{NominalHz: c.freqHz, FreqHz: c.freqHz, Cov: mat.NewSymDense(4, nil), Dof: degrees, LineU: c.hidden(),
		Harmonics: [][]complex128{make([]complex128, 4), make([]complex128, 4)}, HarmonicU: []float64{0, 0}}
	loudest := 0.0
	for i, v := range []complex128{first * volt, second * volt} {
		u := math.Max(card.NoiseRMS[i], quantum) * math.Sqrt(2/n) // Cramér–Rao bound of each axis
		tone.Phasors = append(tone.Phasors, v)
		tone.Cov.SetSym(2*i, 2*i, u*u)
		tone.Cov.SetSym(2*i+1, 2*i+1, u*u)
		tone.HarmonicU[i] = u
		tone.Detected = append(tone.Detected, cmplx.Abs(v) > detected*u)
		loudest = math.Max(loudest, cmplx.Abs(v))
	}
	tone.FreqUHz = frequencyU(card, loudest, n)
	a.Tones = []record.ToneFit{tone}
	return fixture.Observation{Role: role, Load: load, File: string(role), Analysis: a}
}

const (
	degrees = 32 // of freedom of the noise: the estimator takes 16 bins of two axes each
	quantum = 3e-8
	// detected is what the estimator asks of a tone, √(2·m·(10⁴^(1/m)-1)) standard
	// uncertainties of an axis with m = 16 bins.
	detected = 5
)

// fullScale in volt of the less sensitive input; 1 where it is not known.
func (c *Calibrated) fullScale() float64 {
	if v := c.setup.Jig.FullScaleVolt; len(v) == 2 {
		return slices.Min(v)
	}
	return 1
}

// hidden is the mains line that may hide under the tone, per axis: what the silence
// before the tone shows of hum, a line of order k having a k-th of it, but no less than
// half of its own noise. Both are what the estimator does with a record; that a line
// falls with its order is common practice, no source.
func (c *Calibrated) hidden() []float64 {
	card := c.setup.Card
	_, order := stimulus.MainsOrder(c.freqHz, c.setup.Jig.MainsHz, stimulus.UsedSeconds(card.Seconds, c.freqHz))
	u := []float64{0, 0}
	if order == 0 {
		return u
	}
	for i := range u {
		line := math.Sqrt2 * card.HumRMS[i] / float64(order)
		noise := card.NoiseRMS[i] / math.Sqrt(card.SilenceS*card.RateHz)
		u[i] = math.Max(line, noise) / math.Sqrt2
	}
	return u
}

// frequencyU is the bound of the frequency of a tone.
func frequencyU(c Card, peak, n float64) float64 {
	noise := math.Max(math.Max(c.NoiseRMS[0], c.NoiseRMS[1]), quantum)
	return math.Sqrt(24) * noise / math.Max(peak, noise) / (2 * math.Pi) / math.Pow(n, 1.5) * c.RateHz
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
