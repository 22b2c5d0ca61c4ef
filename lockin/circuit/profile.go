package circuit

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"example.org/wheatear/lockin/uncertain"
)

// profiler finds intervals: straight from the covariance where chi-square is a
// parabola, else from its profile, the least chi-square with one unknown held.
type profiler struct {
	t      *target
	best   *Solution
	cov    *mat.SymDense // of x, for readings of the uncertainty that was stated
	scale  float64       // of that uncertainty
	k      float64       // coverage factor of 95 %
	always bool
}

// wellKnown is the standard uncertainty (relative, or of an exponent) below which
// chi-square is a parabola for what an interval can show.
const wellKnown = 0.02

// parameter tells what is known of unknown i.
func (p *profiler) parameter(i int) Parameter {
	unknown := p.t.c.unknowns[i]
	u := p.scale * math.Sqrt(p.cov.At(i, i))
	x := p.best.X[i]
	out := Parameter{Unknown: unknown, State: Determined, Estimate: p.value(i, x)}
	low, high := x-p.k*u, x+p.k*u
	if p.always || !(u < wellKnown) || low <= p.t.low[i] || high >= p.t.high[i] {
		low, high = p.edge(i, -1, u), p.edge(i, 1, u)
	}
	out.Quantity = uncertain.Quantity{Value: out.Estimate, U: u, Low: p.value(i, low), High: p.value(i, high)}
	if unknown.scale == positive {
		out.U = u * out.Estimate
	}
	p.classify(i, &out, math.IsInf(low, 0), math.IsInf(high, 0))
	return out
}

// classify sets the state of an unknown whose interval has no end on some side.
func (p *profiler) classify(i int, out *Parameter, noLow, noHigh bool) {
	x := p.best.X[i]
	atEnd := x <= p.t.low[i] || x >= p.t.high[i]
	limited := p.t.bound[i] || out.scale == exponent
	if limited {
		if noLow {
			out.Low = p.value(i, p.t.low[i])
		}
		if noHigh {
			out.High = p.value(i, p.t.high[i])
		}
		switch {
		case noLow && noHigh:
			out.State = Undetermined
		case atEnd:
			out.State = AtBound
			return
		}
	} else {
		switch {
		case noLow && noHigh:
			out.State = Undetermined
		case noHigh:
			out.State = AtLeast
		case noLow:
			out.State = AtMost
		}
	}
	if out.State != Determined {
		out.Value, out.U = math.NaN(), math.NaN()
	}
}

// value turns a place of the search into a value; minus infinity of a logarithm is 0.
func (p *profiler) value(i int, x float64) float64 {
	if p.t.c.unknowns[i].scale == positive {
		return math.Exp(x)
	}
	return x
}

// edge returns where the profile has risen by k² on one side, or an infinity.
func (p *profiler) edge(i int, side float64, u float64) float64 {
	rise := p.k * p.k * p.scale * p.scale
	end := p.t.high[i]
	if side < 0 {
		end = p.t.low[i]
	}
	from := p.best.X[i]
	step := side * min(max(p.k*u, 1e-6), 1)
	inside, start := from, p.best.X
	for range 60 {
		outside := inside + step
		beyond := (end-outside)*side <= 0
		if beyond {
			outside = end
		}
		s := p.held(i, outside, start)
		if s == nil {
			return math.Inf(int(side))
		}
		if s.Sum-p.best.Sum > rise {
			return p.between(i, inside, outside, rise, start)
		}
		if beyond {
			return math.Inf(int(side))
		}
		inside, start, step = outside, s.X, step*1.7
	}
	return math.Inf(int(side))
}

// between finds the place where the profile crosses the rise, by bisection and the
// secant of its square root, which is nearly straight.
func (p *profiler) between(i int, inside, outside, rise float64, start []float64) float64 {
	root := func(x float64) float64 {
		s := p.held(i, x, start)
		if s == nil {
			return math.Sqrt(rise)
		}
		y := math.Sqrt(max(s.Sum-p.best.Sum, 0)) - math.Sqrt(rise)
		if y < 0 {
			start = s.X // from outside, what ran to a bound would not come back
		}
		return y
	}
	low, high := root(inside), root(outside)
	for n := range 12 {
		if math.Abs(outside-inside) < 1e-6 || high == low {
			break
		}
		x := inside + (outside-inside)*max(0.05, min(0.95, -low/(high-low)))
		if n%3 == 2 {
			x = (inside + outside) / 2
		}
		y := root(x)
		if math.Abs(y) < 1e-2*math.Sqrt(rise) { // 1 % of the half-width
			return x
		}
		if y < 0 {
			inside, low = x, y
		} else {
			outside, high = x, y
		}
	}
	return (inside + outside) / 2
}

// held minimises with unknown i held at x.
func (p *profiler) held(i int, x float64, start []float64) *Solution {
	low, high := append([]float64(nil), p.t.low...), append([]float64(nil), p.t.high...)
	low[i], high[i] = x, x
	from := append([]float64(nil), start...)
	from[i] = x
	s, err := Solve(Problem{Residuals: p.t.residuals, Jacobian: p.t.jacobian, Count: 2 * len(p.t.w),
		Start: from, Low: low, High: high, Steps: 40, Tolerance: 3e-4, damping: 1e-4})
	if err != nil {
		return nil
	}
	return s
}
