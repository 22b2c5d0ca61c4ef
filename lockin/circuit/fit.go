package circuit

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"example.org/wheatear/lockin/uncertain"
)

// ErrNoFit says that no starting value led anywhere.
var ErrNoFit = errors.New("circuit: the circuit has no finite impedance near the sweep; is it the right one?")

// Result is a circuit fitted to a sweep. It holds nothing of the sweep but its
// frequencies.
type Result struct {
	Circuit    *Circuit    // as it was asked for
	Parameters []Parameter // in the order of Unknowns
	// Cov is the covariance of the values, SI, by the law of propagation. Rows of
	// values that are not determined are of no use.
	Cov *mat.SymDense
	// Correlation is that of the logarithms of the values (of exponents themselves).
	Correlation *mat.SymDense

	ChiSquare   float64 // sum of the squares of the residuals in standard uncertainties
	Dof         int     // residuals less unknowns
	Probability float64 // of a chi-square at least as large, if the circuit is right; NaN where the size of the noise is not known
	Scale       float64 // by which the readings' uncertainty was multiplied to get that of the values
	Agreement   Agreement
	AICc, BIC   float64 // information criteria: the lower, the better (only between fits of the same sweep)

	Residuals []Residual
	Notes     []Note
	Tries     int  // starting values followed
	Agreeing  int  // of them, those that ended at the same minimum
	Converged bool // false: the search ran out of steps
}

// Parameter is what a fit says of one unknown.
type Parameter struct {
	Unknown
	// Quantity has the value with its standard uncertainty and its 95 % interval. The
	// value is absent (NaN) where the sweep gives no more than a bound.
	uncertain.Quantity
	State State
	// Estimate is where the search ended, whatever the sweep says of it.
	Estimate float64
}

// State says how far the sweep determines an unknown.
type State string

const (
	Determined   State = "determined"     // a value with an interval on both sides
	AtLeast      State = "at least"       // only a lower bound
	AtMost       State = "at most"        // only an upper bound
	Undetermined State = "not determined" // any value does
	AtBound      State = "at bound"       // the best value is a bound that was given, or the end of what is physical
)

// Agreement says in a word how circuit and sweep go together.
type Agreement string

const (
	Agrees    Agreement = "agrees"         // the residuals are as large as the readings' uncertainty says
	TooClose  Agreement = "too close"      // much smaller: the readings share errors, or their uncertainty is too large
	Disagrees Agreement = "does not agree" // larger than noise, or with a trend
	NotJudged Agreement = "not judged"     // the size of the noise is not known, and nothing else speaks against it
)

// Residual is what is left at one point.
type Residual struct {
	FreqHz float64
	Model  complex128 // ohm
	Z      complex128 // measured − model, ohm
	// Re and Im are the residual in standard uncertainties, without correlation: Im is
	// what is left of the imaginary part once Re is known.
	Re, Im float64
}

// Note is something that a fit shows and a person must know.
type Note struct {
	Code   string // one of the Note… constants
	Names  []string
	Detail string // what was found, with figures
	Advice string // what to do
}

// Codes of notes.
const (
	NoteDisagrees    = "disagrees"
	NoteTooClose     = "too-close"
	NoteBound        = "at-bound"
	NoteUndetermined = "not-determined"
	NoteCorrelated   = "correlated"
	NoteSteps        = "not-converged"
	NoteMinima       = "single-minimum"
)

// Levels at which a chi-square stops being chance, on either side.
const (
	disagreeAt = 0.01
	tooCloseAt = 0.999
)

// Fit finds the values of the unknowns of c that bring it nearest to a sweep, in the
// sense of
//
//	χ² = Σ (Z_i − Z(f_i))ᵀ V_i⁻¹ (Z_i − Z(f_i))
//
// with V the covariance of Re and Im of each point, or of all points at once. No
// starting values are needed. Intervals are those of t for an unknown that is well
// determined, else from the profile of χ²; where the residuals are larger than the
// uncertainty of the readings, the intervals are widened by √(χ²/ν), and a note says
// so.
//
// Errors wrap ErrData, ErrConfig or ErrNoFit. The same input gives the same result.
func Fit(c *Circuit, d *Data, cfg FitConfig) (*Result, error) {
	if c == nil || d == nil {
		return nil, fmt.Errorf("%w: no circuit or no sweep", ErrConfig)
	}
	if err := d.check(); err != nil {
		return nil, err
	}
	cfg, err := cfg.withDefaults(c, d)
	if err != nil {
		return nil, err
	}
	t, err := newTarget(c, d, cfg)
	if err != nil {
		return nil, err
	}
	t.white.known = t.white.known && !cfg.ScaleUnknown
	found := t.minimise(cfg, t.goodChiSquare())
	if found.best == nil {
		return nil, ErrNoFit
	}
	return t.result(found, cfg), nil
}

// goodChiSquare is one so low that no better minimum could be told from it.
func (t *target) goodChiSquare() float64 {
	dof := 2*len(t.w) - len(t.c.unknowns)
	if !t.white.known || dof < 1 {
		return 0
	}
	return distuv.ChiSquared{K: float64(dof)}.Quantile(0.97)
}

// result tells what the search found.
func (t *target) result(found *descent, cfg FitConfig) *Result {
	k := len(t.c.unknowns)
	r := &Result{Circuit: t.c, ChiSquare: found.best.Sum, Dof: 2*len(t.w) - k, Scale: 1, Probability: math.NaN(),
		Tries: found.tries, Agreeing: found.agreeing, Converged: found.best.Converged}
	r.Residuals = t.left(found.best)
	r.judge(t.white.known)
	r.criteria(t.white.known)
	logCov := inverseGram(found.best.Jacobian, k)
	p := &profiler{t: t, best: found.best, cov: logCov, scale: r.Scale, k: uncertain.CoverageFactor(0.95, r.spreadDof(t.white.known)), always: cfg.Profile}
	for i := range k {
		r.Parameters = append(r.Parameters, p.parameter(i))
	}
	r.Cov, r.Correlation = t.covariances(found.best.X, logCov, r.Scale)
	r.note(t.white.known)
	return r
}

// spreadDof returns the degrees of freedom behind the size of the noise.
func (r *Result) spreadDof(known bool) float64 {
	if known && r.Scale == 1 {
		return 0
	}
	return math.Max(float64(r.Dof), 1)
}

// left lists the residuals.
func (t *target) left(s *Solution) []Residual {
	out := make([]Residual, len(t.w))
	t.valuesOf(t.values, s.X)
	for i, w := range t.w {
		z := t.c.root.z(w, t.values, nil)
		out[i] = Residual{FreqHz: t.data.FreqHz[i], Model: z, Z: t.data.Z[i] - z, Re: -s.Residuals[2*i], Im: -s.Residuals[2*i+1]}
	}
	return out
}

// covariances returns that of the values and the correlation in x.
func (t *target) covariances(x []float64, logCov *mat.SymDense, scale float64) (cov, correlation *mat.SymDense) {
	k := len(x)
	cov, correlation = mat.NewSymDense(k, nil), mat.NewSymDense(k, nil)
	slope := make([]float64, k)
	t.valuesOf(t.values, x)
	for i, u := range t.c.unknowns {
		slope[i] = 1
		if u.scale == positive {
			slope[i] = t.values[i]
		}
	}
	for i := range k {
		for j := i; j < k; j++ {
			v := logCov.At(i, j)
			cov.SetSym(i, j, clamp(v*slope[i]*slope[j]*scale*scale))
			size := math.Sqrt(logCov.At(i, i)) * math.Sqrt(logCov.At(j, j))
			if size > 0 {
				correlation.SetSym(i, j, max(-1, min(1, v/size)))
			}
		}
	}
	return cov, correlation
}
