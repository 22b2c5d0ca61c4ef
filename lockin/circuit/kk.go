package circuit

import (
	"fmt"
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/stat/distuv"
)

// Consistency says whether a sweep can come from a linear part that stands still.
type Consistency struct {
	Verdict     Cause
	Order       int     // poles of the function that was compared with
	ChiSquare   float64 // of its residuals
	Dof         int
	Probability float64 // of a chi-square as large by chance; NaN where the size of the noise is not known
	Residuals   []Residual
	// Rms is the residual relative to |Z|: what the sweep departs from consistency by,
	// noise included.
	Rms float64
	// Drift is the relative change of Z over the sweep that makes it consistent, in the
	// order of AtS or of the points, with its standard uncertainty. Zero where the
	// verdict is not Drifts.
	Drift, DriftU float64
	// LevelChange is the relative change of Z from no level to the highest of the sweep
	// that makes it consistent. Zero where the verdict is not DependsOnLevel.
	LevelChange complex128

	poles rational
}

// Cause is the verdict of a check.
type Cause string

const (
	Consistent     Cause = "consistent"       // a linear part that stands still can have this sweep
	Drifts         Cause = "drift"            // it would be consistent if Z had not changed with time
	DependsOnLevel Cause = "depends on level" // it would be consistent at one level
	DriftOrLevel   Cause = "drift or level"   // one of the two, and the sweep cannot tell which
	Inconsistent   Cause = "inconsistent"     // neither explains it
)

// unsound is the probability below which chi-square fails a sweep. The number of poles
// is chosen from the data, which never reaches the true least chi-square in all cases,
// so that it lies below the 0.01 of a fit.
const unsound = 0.003

// explained is the part of a chi-square in excess that an explanation must remove, and
// significant how many standard uncertainties its size must be.
const (
	explained   = 0.8
	significant = 4
)

// Check tells whether a sweep obeys the Kramers–Kronig relations, and so whether any
// circuit can have it. It compares with rational functions of stable poles, more and
// more of them, until what is left is noise or there are as many as the points
// determine. Where that fails, it looks for a change with time or level that would
// mend it.
//
// The size of the noise is needed to see more than trends: without Cov or Full only a
// curve in the residuals counts. Chance alone fails about one sound sweep in a
// hundred.
//
// Errors wrap ErrData; fewer than eight points cannot be checked.
//
// Reference: Boukamp, 1995, with poles that are moved to where the sweep needs them
// (Gustavsen and Semlyen, 1999), so that resonances are followed too.
func Check(d *Data) (*Consistency, error) {
	if d == nil {
		return nil, fmt.Errorf("%w: there is none", ErrData)
	}
	if err := d.check(); err != nil {
		return nil, err
	}
	if len(d.Z) < 8 {
		return nil, fmt.Errorf("%w: %d points are too few to check; take at least 8", ErrData, len(d.Z))
	}
	white, err := newWhitener(d)
	if err != nil {
		return nil, err
	}
	f := newFitter(d, white)
	c := f.compare()
	c.finish(f, d)
	if c.sound() {
		c.Verdict = Consistent
		return c, nil
	}
	c.Verdict = Inconsistent
	c.explain(f, d)
	return c, nil
}

func newFitter(d *Data, white *whitener) *fitter {
	f := &fitter{z: d.Z, white: white}
	low, high := math.Inf(1), 0.0
	for _, v := range d.FreqHz {
		low, high = min(low, v), max(high, v)
	}
	for _, v := range d.FreqHz {
		f.s = append(f.s, complex(0, v/math.Sqrt(low*high)))
	}
	f.low, f.high = math.Sqrt(low/high), math.Sqrt(high/low)
	return f
}

// compare finds the function with the fewest poles that leaves noise, or the best.
func (f *fitter) compare() *Consistency {
	var best *Consistency
	most := min(14, (2*len(f.z)-6)/3)
	for order := 1; order <= most; order++ {
		for _, r := range f.starts(order) {
			c := f.follow(r)
			if best == nil || c.better(best, f.white.known) {
				best = c
			}
		}
		if f.white.known && best.Probability > 0.1 {
			break
		}
	}
	return best
}

// starts are the places that poles begin to move from. Where one pair alone was not
// enough, resonances are looked for in each third of the band among real poles.
func (f *fitter) starts(order int) []rational {
	all := []rational{startReal(order, f.low, f.high), startPairs(order, f.low, f.high)}
	for i := range 3 {
		if order > 4 {
			all = append(all, startMixed(order, f.low, f.high, spread(i+1, 5, f.low, f.high)))
		}
	}
	return all
}

// follow moves the poles until the residuals no longer fall.
func (f *fitter) follow(r rational) *Consistency {
	const moves = 8
	best := &Consistency{ChiSquare: math.Inf(1)}
	for range moves {
		r = f.relocate(r)
		residuals, sum := f.fit(r)
		if sum >= best.ChiSquare*(1-1e-3) {
			break
		}
		best = &Consistency{Order: r.order(), ChiSquare: sum, Dof: 2*len(f.z) - 2*r.order() - 2, poles: r, Probability: math.NaN()}
		for i := range f.z {
			best.Residuals = append(best.Residuals, Residual{Re: residuals[2*i], Im: residuals[2*i+1]})
		}
	}
	if f.white.known && best.Dof > 0 {
		best.Probability = distuv.ChiSquared{K: float64(best.Dof)}.Survival(best.ChiSquare)
	}
	return best
}

// better compares by the probability of what is left, or by AICc.
func (c *Consistency) better(other *Consistency, known bool) bool {
	if known && max(c.Probability, other.Probability) > 1e-12 {
		return c.Probability > other.Probability
	}
	return c.criterion() < other.criterion()
}

func (c *Consistency) criterion() float64 {
	n, k := float64(len(c.Residuals)*2), float64(2*c.Order+3)
	if n <= k+1 {
		return math.Inf(1)
	}
	return n*math.Log(c.ChiSquare/n) + 2*k + 2*k*(k+1)/(n-k-1)
}

// sound says whether what is left is noise.
func (c *Consistency) sound() bool {
	if math.IsNaN(c.Probability) {
		return trend(c.Residuals) <= trendLimit
	}
	return c.Probability >= unsound
}

// finish fills in what is left at each point, in ohm and relative to |Z|.
func (c *Consistency) finish(f *fitter, d *Data) {
	x, ok := solveLinear(f.columns(c.poles), f.right())
	if !ok {
		return
	}
	var b []complex128
	for i, s := range f.s {
		b = append(c.poles.basis(b, s), 1, s)
		var model complex128
		for j, v := range b {
			model += complex(x[j], 0) * v
		}
		r := &c.Residuals[i]
		r.FreqHz, r.Model, r.Z = d.FreqHz[i], model, d.Z[i]-model
		c.Rms += math.Pow(cmplx.Abs(r.Z/d.Z[i]), 2) / float64(2*len(f.s))
	}
	c.Rms = math.Sqrt(c.Rms)
}

// explain looks for a change with time or level that mends the sweep.
func (c *Consistency) explain(f *fitter, d *Data) {
	drift := c.mend(f, [][]complex128{progress(d)})
	var level *mended
	if shapes := levelShapes(d); shapes != nil {
		level = c.mend(f, shapes)
	}
	const clear = 6 // of chi-square, in noise of the size at hand
	switch {
	case drift == nil && level == nil:
	case level == nil && d.LevelV == nil && d.AtS == nil:
		c.Verdict = DriftOrLevel
		c.takeDrift(drift)
	case level == nil || drift != nil && drift.sum+clear < level.sum:
		c.Verdict = Drifts
		c.takeDrift(drift)
	case drift == nil || level.sum+clear < drift.sum:
		c.Verdict = DependsOnLevel
		c.LevelChange = level.change
	default:
		c.Verdict = DriftOrLevel
	}
}

func (c *Consistency) takeDrift(m *mended) {
	c.Drift, c.DriftU = real(m.coefficients[0]), m.u
}

// progress is how far the sweep has come at each point, from −½ to ½.
func progress(d *Data) []complex128 {
	t := make([]complex128, len(d.Z))
	low, high := math.Inf(1), math.Inf(-1)
	at := func(i int) float64 {
		if d.AtS == nil {
			return float64(i)
		}
		return d.AtS[i]
	}
	for i := range t {
		low, high = min(low, at(i)), max(high, at(i))
	}
	for i := range t {
		t[i] = complex((at(i)-low)/max(high-low, math.SmallestNonzeroFloat64)-0.5, 0)
	}
	return t
}

// levelShapes are the level and its square, each with a part in phase and one in
// quadrature; nil where the level is not known or does not change.
func levelShapes(d *Data) [][]complex128 {
	low, high := math.Inf(1), 0.0
	for _, v := range d.LevelV {
		low, high = min(low, v), max(high, v)
	}
	if !(high > 1.05*low) {
		return nil
	}
	shapes := make([][]complex128, 4)
	for _, v := range d.LevelV {
		x := complex(v/high, 0)
		shapes[0], shapes[1] = append(shapes[0], x), append(shapes[1], 1i*x)
		shapes[2], shapes[3] = append(shapes[2], x*x), append(shapes[3], 1i*x*x)
	}
	return shapes
}

// Words say what the check found.
func (c *Consistency) Words() string {
	switch c.Verdict {
	case Consistent:
		return "a linear part that stands still can have this sweep"
	case Drifts:
		return fmt.Sprintf("the part or the readings drifted: the sweep becomes consistent if Z changed by %.2g %% from its first to its last point", 100*c.Drift)
	case DependsOnLevel:
		return fmt.Sprintf("the part depends on the level: the sweep becomes consistent if Z changes by %.2g %% up to the highest level", 100*real(c.LevelChange))
	case DriftOrLevel:
		return "the part or the readings drifted, or the part depends on the level; repeat the sweep backwards, and at one level across the part"
	}
	return "no linear part that stands still has this sweep; look for bad points, a moving contact, or noise that is larger than stated"
}

// With says what a fit and the check of the same sweep mean together.
func (c *Consistency) With(r *Result) string {
	switch {
	case c.Verdict != Consistent:
		return c.Words()
	case r.Agreement == Disagrees:
		return "the sweep is sound, so the circuit is wrong: a linear part has this sweep, but not this one"
	case r.Agreement == NotJudged:
		return "nothing speaks against the sweep or the circuit, though the size of the noise is not known"
	}
	return "the sweep is sound and the circuit agrees with it"
}
