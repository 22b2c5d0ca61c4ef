package impedance

import (
	"errors"
	"math"
	"slices"

	"example.org/wheatear/lockin/internal/errkind"

	"example.org/wheatear/lockin/uncertain"
)

// Element names one element of one of the two equivalents.
type Element struct {
	Kind    Kind    // Resistor, Capacitor or Inductor
	Circuit Circuit // ParallelCircuit, or else series
}

// Of returns the element of an impedance z in ohm at freqHz, in ohm, farad or
// henry; see Of for its signs. NaN for an undecided kind.
func (e Element) Of(z complex128, freqHz float64) float64 {
	all := Of(z, freqHz)
	series, parallel := math.NaN(), math.NaN()
	switch e.Kind {
	case Resistor:
		series, parallel = all.SeriesOhm, all.ParallelOhm
	case Capacitor:
		series, parallel = all.SeriesF, all.ParallelF
	case Inductor:
		series, parallel = all.SeriesH, all.ParallelH
	}
	if e.Circuit == ParallelCircuit {
		return parallel
	}
	return series
}

// Drawn is one element with its distribution, in ohm, farad or henry.
type Drawn struct {
	Value float64 // at the estimates; the median where that is infinite
	U     float64 // half of the 95 % interval of the draws over 1.96
	Low   float64 // of that interval, which leaves 2.5 % on either side
	High  float64
	Draws []float64 // rising; infinite where the part has no such element
}

// Draw returns the distribution of one element, from the sample that Derive makes
// of the same model with the same Config. It asks for no sign: a coil drawn as a
// capacitor has a negative capacitance.
//
// Errors: as Derive, and ErrModel where no draw gives an element.
func Draw(in *uncertain.Inputs, f uncertain.Func, cfg Config, e Element) (Drawn, error) {
	cfg, err := cfg.withDefaults()
	if err != nil {
		return Drawn{}, err
	}
	if in == nil || f == nil || e.Kind == Undecided {
		return Drawn{}, errkind.Errorf(ErrConfig, "impedance: %w: inputs, function or kind of element missing", ErrModel)
	}
	m := make([]float64, 3)
	element := func(dst, x []float64) {
		f(m, x)
		dst[0] = e.Of(complex(m[0], m[1]), m[2])
	}
	sample, err := uncertain.MonteCarlo(in, 1, element, cfg.Trials, cfg.Seed)
	if err != nil {
		return Drawn{}, errors.Join(errkind.Errorf(ErrConfig, "impedance: drawing an element"), err)
	}
	d := Drawn{Draws: slices.DeleteFunc(slices.Clone(sample.Column(0)), math.IsNaN)}
	if len(d.Draws) < cfg.Trials/2 {
		return Drawn{}, errkind.Errorf(ErrConfig, "impedance: %w: only %d of %d trials have the element", ErrModel, len(d.Draws), cfg.Trials)
	}
	slices.Sort(d.Draws)
	at := func(p float64) float64 { return d.Draws[int(p*float64(len(d.Draws)-1)+0.5)] }
	d.Low, d.High = at(0.025), at(0.975)
	d.U = (d.High - d.Low) / (2 * 1.959964)
	value := make([]float64, 1)
	element(value, in.Values())
	d.Value = value[0]
	if !finite(d.Value) {
		d.Value = at(0.5)
	}
	return d, nil
}
