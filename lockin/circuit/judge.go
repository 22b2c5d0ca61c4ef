package circuit

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// judge says whether the residuals are noise, and how far the uncertainty of the
// values must be widened if not.
func (r *Result) judge(known bool) {
	r.Agreement = NotJudged
	if r.Dof < 1 {
		return
	}
	spread := math.Sqrt(r.ChiSquare / float64(r.Dof))
	if !known {
		r.Scale = spread
		if r.trend() > trendLimit {
			r.Agreement = Disagrees
		}
		return
	}
	r.Probability = distuv.ChiSquared{K: float64(r.Dof)}.Survival(r.ChiSquare)
	switch {
	case r.Probability < disagreeAt:
		r.Agreement, r.Scale = Disagrees, spread
	case r.trend() > trendLimit:
		r.Agreement, r.Scale = Disagrees, max(1, spread)
	case r.Probability > tooCloseAt:
		r.Agreement = TooClose
	default:
		r.Agreement = Agrees
	}
}

// trendLimit is passed by noise alone in one sweep of about 2,000.
const trendLimit = 3.3

// trend is the correlation of neighbouring residuals, in its standard deviation for
// noise without correlation: above 3.3 they follow a curve rather than chance. Zero
// with fewer than eight points.
//
//	Σ r_i r_{i+1} / Σ r_i² · √(2(n−1)),  over Re and Im
func (r *Result) trend() float64 { return trend(r.Residuals) }

func trend(residuals []Residual) float64 {
	n := len(residuals)
	if n < 8 {
		return 0
	}
	var products, squares float64
	for i, a := range residuals {
		squares += a.Re*a.Re + a.Im*a.Im
		if i > 0 {
			b := residuals[i-1]
			products += a.Re*b.Re + a.Im*b.Im
		}
	}
	if squares == 0 {
		return 0
	}
	return products / squares * math.Sqrt(2*float64(n-1))
}

// criteria are those for noise of known size; where it is not known, its size is one
// more unknown, and χ² gives way to N ln(χ²/N).
//
// Reference: Burnham and Anderson, 2002, sections 2.2 to 2.4.
func (r *Result) criteria(known bool) {
	n := float64(r.Dof + r.unknowns())
	k, fit := float64(r.unknowns()), r.ChiSquare
	if !known {
		k, fit = k+1, n*math.Log(max(r.ChiSquare, math.SmallestNonzeroFloat64)/n)
	}
	r.BIC = fit + k*math.Log(n)
	r.AICc = math.Inf(1)
	if n > k+1 {
		r.AICc = fit + 2*k + 2*k*(k+1)/(n-k-1)
	}
}

func (r *Result) unknowns() int { return len(r.Circuit.unknowns) }

// Words say what chi-square means.
func (r *Result) Words() string {
	figures := fmt.Sprintf("chi-square %.4g for %d degrees of freedom", r.ChiSquare, r.Dof)
	switch {
	case r.Dof < 1:
		return "as many unknowns as residuals: any sweep would fit, and nothing is tested"
	case r.Agreement == NotJudged:
		return "the size of the noise is not known; it was taken from the residuals, which show no trend"
	case math.IsNaN(r.Probability):
		return "the residuals follow a curve, as they do with a wrong circuit or a sweep that drifts"
	case r.Agreement == Agrees:
		return figures + ": what is left is as large as the uncertainty of the readings says"
	case r.Agreement == TooClose:
		return figures + ": less is left than the uncertainty of the readings says, as where they share an error"
	case r.Probability < disagreeAt:
		return fmt.Sprintf("%s: more is left than noise leaves (%.2g times as much); the circuit is wrong, or the part or the readings drift", figures, math.Sqrt(r.ChiSquare/float64(r.Dof)))
	}
	return figures + ": no more is left than noise leaves, but it follows a curve"
}

// Values returns the estimates in the order of Unknowns, as Impedance takes them.
func (r *Result) Values() []float64 {
	out := make([]float64, len(r.Parameters))
	for i, p := range r.Parameters {
		out[i] = p.Estimate
	}
	return out
}

// Fitted returns the circuit with the estimates in place of the unknowns.
func (r *Result) Fitted() *Circuit {
	if r.Circuit == nil {
		return new(Circuit)
	}
	return r.Circuit.With(r.Values())
}
