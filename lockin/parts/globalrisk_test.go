package parts_test

import (
	"math"
	"testing"

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
		got, err := parts.GlobalRisks(process, 0.5, l, a)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "consumer", got.Consumer, c.consumer, tolerance)
		near(t, "producer", got.Producer, c.producer, tolerance)
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
		got, err := parts.GlobalRisks(c.process, c.u, c.l, c.a)
		if err != nil {
			t.Fatal(err)
		}
		consumer, producer := gridRisks(c.process, c.u, c.l, c.a)
		near(t, "consumer", got.Consumer, consumer, 1e-6)
		near(t, "producer", got.Producer, producer, 1e-6)
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

func TestGlobalRisksRefuse(t *testing.T) {
	l := parts.Limits{Low: 95, High: 105}
	good := parts.Normal{Value: 100, U: 2}
	for _, c := range []struct {
		process parts.Normal
		u       float64
		l, a    parts.Limits
	}{
		{parts.Normal{Value: 100}, 1, l, l},
		{good, 0, l, l},
		{good, -1, l, l},
		{parts.Normal{Value: math.NaN(), U: 1}, 1, l, l},
		{parts.Normal{Value: 1, U: inf}, 1, l, l},
		{good, 1, parts.Limits{Low: 2, High: 1}, l},
		{good, 1, l, parts.Limits{Low: 2, High: 1}},
		{good, 1, l, parts.Limits{Low: math.NaN(), High: 1}},
	} {
		if r, err := parts.GlobalRisks(c.process, c.u, c.l, c.a); err == nil {
			t.Errorf("%+v gives %+v", c, r)
		}
	}
}
