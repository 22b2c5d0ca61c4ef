package live

import (
	"errors"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
)

// Calibrate is [fixture.Calibrate] for who shows findings either way: where standards are
// refused the calibration is nil and the findings say why.
func Calibrate(jig *fixture.Jig, obs []fixture.Observation, freqsHz []float64, about fixture.About) (*fixture.Calibration, []finding.Finding, error) {
	cal, err := fixture.Calibrate(jig, obs, freqsHz, about)
	var refused *fixture.RefusedError
	switch {
	case errors.As(err, &refused):
		return nil, refused.Findings, nil
	case err != nil:
		return nil, nil, err
	}
	return cal, cal.Findings, nil
}

// Measure reads a part with a calibration, or without where there is none.
func Measure(jig *fixture.Jig, cal *fixture.Calibration, obs []fixture.Observation, freqHz float64, opt fixture.Options) (*fixture.Corrected, error) {
	if cal == nil {
		return fixture.MeasureUncalibrated(jig, obs, freqHz, opt)
	}
	return fixture.Measure(jig, cal, obs, freqHz, opt)
}
