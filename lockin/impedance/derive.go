package impedance

import (
	"errors"
	"math"
	"math/cmplx"

	"example.org/wheatear/lockin/internal/errkind"

	"example.org/wheatear/lockin/uncertain"
)

// ErrModel is wrapped where a model gives nothing that a reading can be made of.
var ErrModel = errors.New("no impedance in the model")

// Derive makes a reading from a model of Re Z and Im Z (ohm) and the frequency
// (hertz), in this order, and the inputs that are uncertain in it.
//
// The frequency belongs to the model since the tolerance of a clock is often
// rectangular, and what corrects Z may depend on it too. An infinite Z at the
// estimates is an open; trials that give no finite Z are left out.
//
// Errors: inputs that uncertain refuses, a Config out of range, and a model that
// gives NaN or a frequency that is not positive at the estimates, or no finite
// impedance in half of the trials (ErrModel). Safe for concurrent use when f is.
// Reference: JCGM 100:2008, 5; JCGM 101:2008, 6 and 7.
func Derive(in *uncertain.Inputs, f uncertain.Func, cfg Config) (Reading, error) {
	cfg, err := cfg.withDefaults()
	if err != nil {
		return Reading{}, err
	}
	c, err := propagate(in, f, cfg)
	if err != nil {
		return Reading{}, err
	}
	frequency := uncertain.Quantity{Value: c.y[outHz], U: c.u[outHz]}
	frequency.Low, frequency.High = c.interval(outHz)
	r := Void(frequency)
	if r.State = OK; c.wide() {
		c.readFar(&r, cfg)
	} else {
		c.read(&r)
	}
	r.holdValues()
	r.Fitting = fit(r, cfg)
	r.Hint = hint(r, cfg)
	return r, nil
}

// propagate runs the model both ways.
func propagate(in *uncertain.Inputs, f uncertain.Func, cfg Config) (*cloud, error) {
	if in == nil || f == nil {
		return nil, errkind.Errorf(ErrConfig, "impedance: %w: inputs or function missing", ErrModel)
	}
	if err := in.Err(); err != nil {
		return nil, errkind.Errorf(ErrConfig, "impedance: %w", err)
	}
	all, z := expand(in, f)
	if cmplx.IsNaN(z) {
		return nil, errkind.Errorf(ErrConfig, "impedance: %w: it gives %g ohm at the estimates", ErrModel, z)
	}
	result, err := uncertain.Propagate(in, outputs, all)
	if err != nil {
		return nil, errkind.Errorf(ErrConfig, "impedance: %w", err)
	}
	sample, err := uncertain.MonteCarlo(in, outputs, all, cfg.Trials, cfg.Seed)
	if err != nil {
		return nil, errkind.Errorf(ErrConfig, "impedance: %w", err)
	}
	c := newCloud(result, sample)
	if err := c.check(cfg.Trials); err != nil {
		return nil, err
	}
	return c, nil
}

func (c *cloud) check(trials int) error {
	switch {
	case !(c.y[outHz] > 0) || math.IsInf(c.y[outHz], 0):
		return errkind.Errorf(ErrConfig, "impedance: %w: its frequency is %g Hz", ErrModel, c.y[outHz])
	case c.n < trials/2:
		return errkind.Errorf(ErrConfig, "impedance: %w: only %d of %d trials are finite", ErrModel, c.n, trials)
	}
	return nil
}

// readFar fills in a reading whose uncertainty is not small against Z.
func (c *cloud) readFar(r *Reading, cfg Config) {
	p := c.straightest()
	where, at := p.region(c.scratch)
	s := p.ranges(p.reach(where, at), at)
	switch r.State = c.state(p, where, s, cfg.ReferenceOhm); r.State {
	case Open:
		c.readOpen(r)
	case Short:
		c.readShort(r)
	default:
		c.readWide(r, s)
	}
}

// read fills in a reading of which modulus and direction are known.
func (c *cloud) read(r *Reading) {
	c.readZ(r)
	r.Modulus, r.Phase = c.quantity(outModulus), c.quantity(outPhase)
	r.Y.G, r.Y.B = c.quantity(outG), c.quantity(outB)
	r.Series.R, r.Parallel.R = c.notNegative(outRe), reciprocal(c.notNegative(outG))
	resistive, reactive := c.sign(outRe), c.sign(outIm)
	c.readReactances(r, reactive)
	c.readLoss(r, resistive, reactive)
	if resistive > 0 && c.signAt(outIm, farOff) == 0 {
		foldToResistance(r)
	}
	if reactive != 0 && c.signAt(outRe, farOff) == 0 {
		foldToReactance(r, float64(reactive))
	}
	widen(&r.Modulus, r.Modulus.Value) // a sample spread about zero may not reach down to it
	r.Y.Modulus = reciprocal(r.Modulus)
	r.Dominance, r.Passivity = c.dominance(), c.passivity()
}

func (c *cloud) readZ(r *Reading) {
	r.Re, r.Im = c.quantity(outRe), c.quantity(outIm)
	if c.u[outRe] > 0 && c.u[outIm] > 0 {
		r.Correlation = c.cov.At(outRe, outIm) / (c.u[outRe] * c.u[outIm])
	}
}

// readReactances fills in C and L by the sign of X.
func (c *cloud) readReactances(r *Reading, sign int) {
	switch sign {
	case 1:
		r.Series.L, r.Parallel.L = c.quantity(outSeriesL), reciprocal(c.quantity(outInverseL))
	case -1:
		r.Series.C, r.Parallel.C = reciprocal(c.quantity(outElastance)), c.quantity(outParallelC)
	default:
		r.Series.L, r.Series.C = c.atMost(outSeriesL), c.atLeast(outElastance)
		r.Parallel.C, r.Parallel.L = c.atMost(outParallelC), c.atLeast(outInverseL)
	}
}

// readLoss fills in D and Q. Whichever has an established denominator is read
// from the sample, and the other is its reciprocal; with neither there is none.
func (c *cloud) readLoss(r *Reading, resistive, reactive int) {
	switch {
	case reactive != 0:
		r.D = c.notNegative(outLoss)
		r.Q = reciprocal(r.D)
	case resistive > 0:
		tangent := c.quantity(outTangent) // either sign of X is possible
		r.Q = uncertain.Quantity{Value: c.y[outQuality], U: c.u[outTangent], Low: 0, High: math.Max(-tangent.Low, tangent.High)}
		r.D = reciprocal(r.Q)
	}
}

// readOpen fills in what is known of Y when Y may be zero.
func (c *cloud) readOpen(r *Reading) {
	r.Y.G, r.Y.B = c.quantity(outG), c.quantity(outB)
	high := c.upper(outAdmittance)
	r.Y.Modulus = uncertain.Quantity{Value: math.NaN(), U: math.NaN(), Low: math.Inf(-1), High: high}
	r.Modulus = uncertain.Quantity{Value: math.NaN(), U: math.NaN(), Low: 1 / high, High: math.Inf(1)}
	r.Parallel = Equivalent{R: c.atLeast(outG), C: c.atMost(outParallelC), L: c.atLeast(outInverseL)}
}

// readShort fills in what is known of Z when Z may be zero.
func (c *cloud) readShort(r *Reading) {
	c.readZ(r)
	r.Modulus = uncertain.Quantity{Value: math.NaN(), U: math.NaN(), Low: math.Inf(-1), High: c.upper(outModulus)}
	r.Series = Equivalent{R: c.atMost(outRe), C: c.atLeast(outElastance), L: c.atMost(outSeriesL)}
}
