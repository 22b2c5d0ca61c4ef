package parts_test

import (
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"

	"example.org/wheatear/lockin/parts"
)

// Limits 95 to 105, process N(100, 2²), u = 0.5. Formulas of JCGM 106:2012, 9;
// figures recomputed by two quadratures to ten digits.
func TestGlobalRisks(t *testing.T) {
	const tolerance = 1e-8
	l := parts.Limits{Low: 95, High: 105}
	process := parts.Normal{Value: 100, U: 2}
	for _, c := range []struct{ ratio, consumer, producer float64 }{
		{0, 0.002445348713, 0.005319389091},
		{0.5, 0.0005617411379, 0.01719143265},
		{1, 6.094054351e-5, 0.03998667317},
		{-1, 0.008903110899, 9.312718369e-5},
	} {
		a, err := parts.GuardedLimits(l, 0.5, c.ratio)
		if err != nil {
			t.Fatal(err)
		}
		got := globalRisks(process, 0.5, l, a)
		near(t, "consumer", got.consumer, c.consumer, tolerance)
		near(t, "producer", got.producer, c.producer, tolerance)
	}
}

// One limit, far from it, and a measurement much better or worse than the
// process: against a plain sum over a fine grid, good to 1e-7.
func TestGlobalRisksAgainstAGrid(t *testing.T) {
	for _, c := range []struct {
		process parts.Normal
		u       float64
		l, a    parts.Limits
	}{
		{parts.Normal{Value: 0.01, U: 0.004}, 0.001, parts.AtMost(0.02), parts.AtMost(0.018)},
		{parts.Normal{Value: 45, U: 4}, 0.2, parts.AtLeast(40), parts.AtLeast(40.4)},
		{parts.Normal{Value: 45, U: 0.3}, 5, parts.AtLeast(44), parts.AtLeast(46)},
		{parts.Normal{Value: 99, U: 1}, 1, parts.Limits{Low: 95, High: 105}, parts.Limits{Low: 97, High: 103}},
	} {
		got := globalRisks(c.process, c.u, c.l, c.a)
		consumer, producer := gridRisks(c.process, c.u, c.l, c.a)
		near(t, "consumer", got.consumer, consumer, 1e-6)
		near(t, "producer", got.producer, producer, 1e-6)
	}
}

// gridRisks is the midpoint rule, in steps that no limit falls into.
func gridRisks(process parts.Normal, u float64, l, a parts.Limits) (consumer, producer float64) {
	edges := []float64{process.Value - 10*process.U, process.Value + 10*process.U}
	for _, x := range []float64{l.High, l.Low} {
		if x > edges[0] && x < edges[len(edges)-1] {
			edges = append(edges[:1], append([]float64{x}, edges[1:]...)...)
		}
	}
	const steps = 200_000
	for i := 1; i < len(edges); i++ {
		h := (edges[i] - edges[i-1]) / steps
		for k := range steps {
			x := edges[i-1] + (float64(k)+0.5)*h
			z := (x - process.Value) / process.U
			g := h * math.Exp(-z*z/2) / process.U / math.Sqrt(2*math.Pi)
			reject := parts.NonconformanceProbability(parts.Normal{Value: x, U: u}, a)
			if l.Contain(x) {
				producer += g * reject
			} else {
				consumer += g * (1 - reject)
			}
		}
	}
	return consumer, producer
}

// risks are what a decision rule costs over a whole production, as fractions of
// all parts inspected.
type risks struct {
	consumer float64 // accepted and does not conform
	producer float64 // rejected and conforms
}

// globalRisks returns the risks of accepting every part whose measured value lies
// within acceptance. The parts are distributed as process, and are measured with
// the standard uncertainty u.
//
//	R_C = ∫ outside of l   P(accept | x) g(x) dx
//	R_P = ∫ inside of l    P(reject | x) g(x) dx
//
// By quadrature, to a relative 1e-9 where the risk is above 1e-30.
// Reference: JCGM 106:2012, 9.
func globalRisks(process parts.Normal, u float64, l, acceptance parts.Limits) risks {
	g := func(x float64) float64 {
		z := (x - process.Value) / process.U
		return math.Exp(-z*z/2) / (process.U * math.Sqrt(2*math.Pi))
	}
	accepted := func(x float64) float64 {
		return parts.ConformanceProbability(parts.Normal{Value: x, U: u}, acceptance) * g(x)
	}
	rejected := func(x float64) float64 {
		return parts.NonconformanceProbability(parts.Normal{Value: x, U: u}, acceptance) * g(x)
	}
	points := cuts(process, u, l, acceptance)
	first, last := points[0], points[len(points)-1]
	return risks{
		consumer: integrate(accepted, points, first, l.Low) + integrate(accepted, points, l.High, last),
		producer: integrate(rejected, points, math.Max(first, l.Low), math.Min(last, l.High)),
	}
}

// farTail is where a normal distribution is below 1e-40 of its middle.
const farTail = 14

// cuts are the points where the integrands change their character: within the
// reach of process and measurement about limits and acceptance limits. Between
// them the integrand is a smooth product of two normal curves, each of which
// varies over no less than a quarter of its spread per piece.
func cuts(process parts.Normal, u float64, l, acceptance parts.Limits) []float64 {
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
