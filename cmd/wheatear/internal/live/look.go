package live

import (
	"context"
	"math"
	"slices"

	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/predict"
	"example.org/wheatear/lockin/stimulus"
)

// Look is a part read at several frequencies of one short record, and what follows.
type Look struct {
	Take     *Take
	Readings []impedance.Reading // that can be trusted, of rising frequency
	Part     predict.Part
	Known    bool      // the readings show what the part is
	FreqsHz  []float64 // that were played
}

// LookAt plays several tones at once for a short time and reads the part at each.
func (s *Session) LookAt(ctx context.Context, setup *predict.Setup, cal *fixture.Calibration, name string) (*Look, error) {
	plan, err := s.Brief(ctx, setup.LookTones(frequenciesOf(cal)))
	if err != nil {
		return nil, err
	}
	t, err := s.Take(ctx, Subject{Role: fixture.PartRole, Name: name}, plan)
	if err != nil {
		return nil, err
	}
	l := &Look{Take: t, FreqsHz: Frequencies(plan)}
	for _, hz := range l.FreqsHz {
		c, err := Measure(s.jig, cal, []fixture.Observation{t.Observation}, hz, s.Reading())
		if err != nil {
			return nil, err
		}
		if c.Trusted {
			l.Readings = append(l.Readings, c.Reading)
		}
	}
	l.Part, l.Known = predict.Recognize(l.Readings)
	return l, nil
}

func frequenciesOf(cal *fixture.Calibration) []float64 {
	if cal == nil {
		return nil
	}
	return cal.Frequencies()
}

// Suit is the frequency that suits the part; the one of the look that is nearest to 1 kHz
// where it does not show what the part is, and then the choice is nil.
func (l *Look) Suit(setup *predict.Setup, cal *fixture.Calibration) (stimulus.ToneRequest, *predict.Suited, error) {
	if !l.Known {
		off := func(hz float64) float64 { return math.Abs(math.Log(hz / 1e3)) }
		usual := slices.MinFunc(l.FreqsHz, func(a, b float64) int {
			if off(a) < off(b) {
				return -1
			}
			return 1
		})
		return Tone(usual, cal), nil, nil
	}
	s, err := setup.Suit(l.Part, l.Readings, frequenciesOf(cal))
	if err != nil {
		return stimulus.ToneRequest{}, nil, err
	}
	return Tone(s.FreqHz, cal), s, nil
}

// Tone asks for a frequency: exactly where it is calibrated, else as it may be moved.
func Tone(hz float64, cal *fixture.Calibration) stimulus.ToneRequest {
	calibrated := slices.ContainsFunc(frequenciesOf(cal), func(f float64) bool { return math.Abs(f/hz-1) < 1e-6 })
	return stimulus.ToneRequest{FreqHz: hz, Movable: !calibrated}
}

// CardOf is the card of a jig file, of which no noise is known.
func CardOf(jig *fixture.Jig) predict.Card {
	c := predict.Card{RateHz: jig.Card.RateHz, Seconds: jig.Card.Seconds, Peak: peakOf(jig), NoiseRMS: [2]float64{predict.DefaultNoiseRMS, predict.DefaultNoiseRMS},
		HumRMS: [2]float64{predict.DefaultHumRMS, predict.DefaultHumRMS}}
	if jig.SourceOhm != nil {
		c.SourceOhm = jig.SourceOhm[0]
	}
	return c
}

// peakOf is the peak that the jig file plays at, re full scale.
func peakOf(jig *fixture.Jig) float64 {
	if jig.Card.Level.Volts {
		if jig.FullScaleVolt != nil {
			return math.Min(1, jig.Card.Level.Value*math.Sqrt2/slices.Min(jig.FullScaleVolt))
		}
		return math.Pow(10, -12.0/20)
	}
	return math.Pow(10, jig.Card.Level.Value/20)
}
