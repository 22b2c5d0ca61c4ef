package level

import (
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"example.org/wheatear/lockin/uncertain"
)

// Law is how a quantity depends on level.
type Law string

// The laws that are tried. A smooth law that is the same for both signs of the
// voltage begins with the square of the level; the hysteresis of iron begins with
// the level itself (Rayleigh's law of 1887; from memory).
const (
	Constant  Law = "does not depend on it"
	Straight  Law = "in proportion to it"
	Square    Law = "with its square"
	Quadratic Law = "in proportion to it and with its square"
)

// powers of the level in a law, beside the constant.
func (l Law) powers() []float64 {
	switch l {
	case Straight:
		return []float64{1}
	case Square:
		return []float64{2}
	case Quadratic:
		return []float64{1, 2}
	}
	return nil
}

// Curve is a quantity over level.
type Curve struct {
	Name, Unit string
	Level      []float64 // volts or amperes rms
	Values     []uncertain.Quantity
	NoiseU     []float64 // of the values, what they do not share

	// Zero is the quantity carried on to level zero. Its uncertainty holds the fit,
	// the choice of the law, and what the points share.
	Zero uncertain.Quantity
	Law  Law // the likeliest
	// Used counts the points from the lowest level up that follow a law; those
	// above leave it.
	Used int
	// Change is the value at the highest level relative to Zero, minus 1, with its
	// standard uncertainty.
	Change, ChangeU float64
}

const (
	leastPoints = 4    // that a law is fitted to
	badFit      = 0.01 // chi-square this unlikely is no fit
)

// candidate is one law fitted to some of the points.
type candidate struct {
	law        Law
	zero, u    float64 // value at level zero and its uncertainty
	chi2       float64
	dof        int
	likelihood float64 // Akaike's criterion, corrected for few points
}

// extrapolate carries the curve to level zero: on as many points as some law
// follows, the laws weighted by Akaike's criterion.
//
// Source: Burnham and Anderson, Model Selection and Multimodel Inference, 2nd
// ed. 2002, eq. 2.4, 2.9 and 4.3 (from memory).
func (c *Curve) extrapolate() {
	for n := len(c.Level); n >= 1; n-- {
		fits := c.candidates(n)
		if len(fits) == 0 {
			continue
		}
		c.Used = n
		if n <= leastPoints || plausible(fits) {
			c.average(fits)
			return
		}
	}
}

// candidates fits every law that n points can carry.
func (c *Curve) candidates(n int) []candidate {
	var out []candidate
	for _, law := range []Law{Constant, Straight, Square, Quadratic} {
		if n < len(law.powers())+1 || n < leastPoints && law != Constant {
			continue
		}
		if fit, ok := c.fit(law, n); ok {
			out = append(out, fit)
		}
	}
	return out
}

// fit is weighted least squares of one law to the lowest n points.
func (c *Curve) fit(law Law, n int) (candidate, bool) {
	powers := law.powers()
	k := len(powers) + 1
	top := c.Level[n-1]
	design, right := mat.NewDense(n, k, nil), mat.NewVecDense(n, nil)
	for i := range n {
		w := 1 / c.NoiseU[i]
		design.Set(i, 0, w)
		for j, p := range powers {
			design.Set(i, j+1, w*math.Pow(c.Level[i]/top, p))
		}
		right.SetVec(i, w*(c.Values[i].Value-c.Values[0].Value))
	}
	var normal, inverse mat.Dense
	normal.Mul(design.T(), design)
	if inverse.Inverse(&normal) != nil {
		return candidate{}, false
	}
	var atb, x, rest mat.VecDense
	atb.MulVec(design.T(), right)
	x.MulVec(&inverse, &atb)
	rest.MulVec(design, &x)
	rest.SubVec(right, &rest)
	fit := candidate{law: law, zero: c.Values[0].Value + x.AtVec(0), u: math.Sqrt(inverse.At(0, 0)), chi2: mat.Dot(&rest, &rest), dof: n - k}
	fit.likelihood = fit.chi2 + 2*float64(k)
	if spare := n - k - 1; spare > 0 {
		fit.likelihood += 2 * float64(k*(k+1)) / float64(spare)
	} else {
		fit.likelihood += 2 * float64(k*(k+1))
	}
	if fit.dof > 0 { // noise that was claimed too small shows in the residuals (Birge's ratio)
		fit.u *= math.Sqrt(math.Max(1, fit.chi2/float64(fit.dof)))
	}
	return fit, true
}

// plausible reports whether one of the laws fits.
func plausible(fits []candidate) bool {
	for _, f := range fits {
		if f.dof > 0 && (distuv.ChiSquared{K: float64(f.dof)}).Survival(f.chi2) > badFit {
			return true
		}
	}
	return false
}

// average weights the laws and adds what all points share.
func (c *Curve) average(fits []candidate) {
	best := math.Inf(1)
	for _, f := range fits {
		if f.likelihood < best {
			best, c.Law = f.likelihood, f.law
		}
	}
	sum, zero := 0.0, 0.0
	for _, f := range fits {
		w := math.Exp((best - f.likelihood) / 2)
		sum += w
		zero += w * f.zero
	}
	zero /= sum
	u := 0.0
	for _, f := range fits {
		u += math.Exp((best-f.likelihood)/2) / sum * math.Hypot(f.u, f.zero-zero)
	}
	c.finish(zero, u)
}

// finish makes the quantity at level zero, shaped as the lowest point is.
func (c *Curve) finish(zero, u float64) {
	low, last := c.Values[0], len(c.Values)-1
	shared := math.Sqrt(math.Max(0, low.U*low.U-c.NoiseU[0]*c.NoiseU[0]))
	own := math.Hypot(shared, u)
	widen := 1.0
	if low.U > 0 {
		widen = own / low.U
	}
	c.Zero = uncertain.Quantity{Value: zero, U: own, Low: zero - widen*(low.Value-low.Low), High: zero + widen*(low.High-low.Value)}
	if zero != 0 {
		c.Change = c.Values[last].Value/zero - 1
		c.ChangeU = math.Hypot(u, c.NoiseU[last]) / math.Abs(zero)
	}
}
