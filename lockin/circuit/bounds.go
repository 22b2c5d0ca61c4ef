package circuit

import (
	"errors"
	"fmt"
	"math"
	"math/cmplx"
)

// FitConfig says how to fit. The zero value finds everything in the data.
type FitConfig struct {
	// Start has values, SI, in the order of Unknowns, to begin from besides those
	// found in the data. Nil: none.
	Start []float64
	// Low and High bound the values. Nil or 0: none but what is physical (above 0, and
	// exponents from 0 to 1).
	Low, High []float64
	// Tries is how many starting values are followed at most where the fit does not
	// agree with the data; 0 means 60.
	Tries int
	// Profile asks for all intervals from the profile of chi-square. They are anyway
	// where an unknown is not well determined.
	Profile bool
	// ScaleUnknown says that the covariances have the right shape but no known size;
	// it is then found in the residuals, and chi-square judges nothing.
	ScaleUnknown bool
	// Seed starts the random numbers behind the starting values.
	Seed uint64
}

// ErrConfig is wrapped by what is wrong with a FitConfig or its circuit.
var ErrConfig = errors.New("circuit: cannot fit")

func (cfg FitConfig) withDefaults(c *Circuit, d *Data) (FitConfig, error) {
	k := len(c.unknowns)
	switch {
	case k == 0:
		return cfg, fmt.Errorf("%w: %s has no unknown; give an element a name in place of its value, such as Rs", ErrConfig, c)
	case 2*len(d.FreqHz) < k:
		return cfg, fmt.Errorf("%w: %d points do not determine %d unknowns; read more frequencies", ErrConfig, len(d.FreqHz), k)
	case cfg.Tries < 0:
		return cfg, fmt.Errorf("%w: %d tries; 0 is the default", ErrConfig, cfg.Tries)
	}
	for _, list := range []struct {
		name   string
		values []float64
	}{{"starting", cfg.Start}, {"low", cfg.Low}, {"high", cfg.High}} {
		if list.values != nil && len(list.values) != k {
			return cfg, fmt.Errorf("%w: %d %s values for %d unknowns", ErrConfig, len(list.values), list.name, k)
		}
		for _, v := range list.values {
			if !(v >= 0) {
				return cfg, fmt.Errorf("%w: %s value %g; values are not negative", ErrConfig, list.name, v)
			}
		}
	}
	if cfg.Tries == 0 {
		cfg.Tries = 60
	}
	return cfg, nil
}

// reach is how far, as a ratio, a value may lie from what the sweep can feel. Beyond
// it an element is a wire or nothing to one part in 10⁷.
const reach = 1e7

// setBounds finds where the search may go: what the sweep can feel, or the caller's.
func (t *target) setBounds(cfg FitConfig) error {
	k := len(t.c.unknowns)
	t.low, t.high, t.bound = make([]float64, k), make([]float64, k), make([]bool, k)
	span := t.span()
	for i, u := range t.c.unknowns {
		low, high := span.of(u)
		if cfg.Low != nil && cfg.Low[i] > 0 {
			low, t.bound[i] = cfg.Low[i], true
		}
		if cfg.High != nil && cfg.High[i] > 0 {
			high, t.bound[i] = cfg.High[i], true
		}
		if !(low <= high) {
			return fmt.Errorf("%w: %s cannot lie between %g and %g; for this sweep give a low bound below the high one", ErrConfig, u.Name, low, high)
		}
		t.low[i], t.high[i] = low, high
	}
	t.xOf(t.low, t.low)
	t.xOf(t.high, t.high)
	return nil
}

// span is what a sweep covers.
type span struct{ wLow, wHigh, zLow, zHigh float64 }

func (t *target) span() span {
	s := span{math.Inf(1), 0, math.Inf(1), 0}
	for i, w := range t.w {
		z := cmplx.Abs(t.data.Z[i])
		s.wLow, s.wHigh = min(s.wLow, w), max(s.wHigh, w)
		s.zLow, s.zHigh = min(s.zLow, z), max(s.zHigh, z)
	}
	return s
}

// of returns the least and largest value that the sweep can feel.
func (s span) of(u Unknown) (low, high float64) {
	if u.scale == exponent {
		return 0, 1
	}
	zLow, zHigh := s.zLow/reach, s.zHigh*reach
	switch {
	case u.element == 'C' || u.element == 'T' && u.Unit == "F":
		return 1 / (s.wHigh * zHigh), 1 / (s.wLow * zLow)
	case u.element == 'L' || u.Unit == "H":
		return zLow / s.wHigh, zHigh / s.wLow
	case u.Unit == "Hz":
		return s.wLow / (2 * math.Pi) / 1e4, s.wHigh / (2 * math.Pi) * 1e6
	case u.element == 'Q':
		return 1 / (max(s.wHigh, 1) * zHigh), 1 / (min(s.wLow, 1) * zLow)
	case u.element == 'K':
		return zLow / max(s.wHigh, 1), zHigh / min(s.wLow, 1)
	case u.element == 'W':
		return zLow * math.Sqrt(s.wLow), zHigh * math.Sqrt(s.wHigh)
	}
	return zLow, zHigh
}
