package parts

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/integrate/quad"
)

// Risks are what a decision rule costs over a whole production, as fractions of
// all parts inspected.
type Risks struct {
	Consumer float64 // accepted and does not conform
	Producer float64 // rejected and conforms
}

// GlobalRisks returns the risks of accepting every part whose measured value lies
// within acceptance. The parts are distributed as process, and are measured with
// the standard uncertainty u.
//
//	R_C = ∫ outside of l   P(accept | x) g(x) dx
//	R_P = ∫ inside of l    P(reject | x) g(x) dx
//
// By quadrature, to a relative 1e-9 where the risk is above 1e-30. Errors: limits
// that are none, and a process or u without spread: then there is nothing to
// integrate. Reference: JCGM 106:2012, 9.
func GlobalRisks(process Normal, u float64, l, acceptance Limits) (Risks, error) {
	if err := checkDecision(l, u); err != nil {
		return Risks{}, err
	}
	if !(process.U > 0 && u > 0) || math.IsInf(process.U, 0) || math.IsNaN(process.Value) || math.IsInf(process.Value, 0) {
		return Risks{}, fmt.Errorf("parts: global risks of a process %g ± %g measured with u = %g: both need a spread", process.Value, process.U, u)
	}
	if math.IsNaN(acceptance.Low) || math.IsNaN(acceptance.High) || acceptance.Low > acceptance.High {
		return Risks{}, fmt.Errorf("parts: acceptance limits %g and %g: give the lower before the upper", acceptance.Low, acceptance.High)
	}
	g := func(x float64) float64 {
		z := (x - process.Value) / process.U
		return math.Exp(-z*z/2) / (process.U * math.Sqrt(2*math.Pi))
	}
	accepted := func(x float64) float64 { return ConformanceProbability(Normal{x, u}, acceptance) * g(x) }
	rejected := func(x float64) float64 { return NonconformanceProbability(Normal{x, u}, acceptance) * g(x) }
	points := cuts(process, u, l, acceptance)
	first, last := points[0], points[len(points)-1]
	return Risks{
		Consumer: integrate(accepted, points, first, l.Low) + integrate(accepted, points, l.High, last),
		Producer: integrate(rejected, points, math.Max(first, l.Low), math.Min(last, l.High)),
	}, nil
}

// farTail is where a normal distribution is below 1e-40 of its middle.
const farTail = 14

// cuts are the points where the integrands change their character: within the
// reach of process and measurement about limits and acceptance limits. Between
// them the integrand is a smooth product of two normal curves, each of which
// varies over no less than a quarter of its spread per piece.
func cuts(process Normal, u float64, l, acceptance Limits) []float64 {
	var out []float64
	add := func(centre, spread float64) {
		for k := -farTail * 4; k <= farTail*4 && !math.IsInf(centre, 0); k++ {
			out = append(out, centre+float64(k)*spread/4)
		}
	}
	add(process.Value, process.U)
	low, high := out[0], out[len(out)-1]
	for _, edge := range []float64{acceptance.Low, acceptance.High} {
		add(edge, u)
	}
	out = append(out, l.Low, l.High)
	out = slices.DeleteFunc(out, func(x float64) bool { return !(x >= low && x <= high) })
	slices.Sort(out)
	return slices.Compact(out)
}

// integrate adds up the pieces between from and to, each by Gauss and Legendre.
func integrate(f func(float64) float64, points []float64, from, to float64) float64 {
	const nodes = 10 // exact to order 19: 1e-15 over a quarter of a spread
	sum := 0.0
	for i := 1; i < len(points); i++ {
		a, b := math.Max(points[i-1], from), math.Min(points[i], to)
		if a < b {
			sum += quad.Fixed(f, a, b, nodes, quad.Legendre{}, 1)
		}
	}
	return sum
}
