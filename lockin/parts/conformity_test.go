package parts_test

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"example.org/wheatear/lockin/parts"
)

var inf = math.Inf(1)

// relative is the tolerance of the worked cases, which are given to 12 digits.
const relative = 1e-10

func near(t *testing.T, what string, got, want, rel float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)) {
		t.Errorf("%s: got %.15g, want %.15g", what, got, want)
	}
}

// Formulas of JCGM 106:2012, 7; figures recomputed with 30 digits.
func TestConformanceProbability(t *testing.T) {
	for _, c := range []struct {
		name    string
		y, u    float64
		l       parts.Limits
		p, risk float64
	}{
		{"100 nF 5 % reads 104.2 nF", 104.2, 0.5, parts.Limits{Low: 95, High: 105}, 0.9452007083, 0.0547992916996},
		{"100 nF 5 % reads 104.0 nF", 104, 0.5, parts.Limits{Low: 95, High: 105}, 0.977249868052, 0.0227501319482},
		{"100 nF 5 % reads 105.3 nF", 105.3, 0.5, parts.Limits{Low: 95, High: 105}, 0.27425311775, 0.72574688225},
		{"1 kΩ 1 % reads 1009.2 Ω", 1009.2, 0.4, parts.Limits{Low: 990, High: 1010}, 0.977249868052, 0.0227501319482},
		{"D ≤ 0.02 reads 0.0185", 0.0185, 0.0006, parts.AtMost(0.02), 0.993790334674, 0.00620966532578},
		{"Q ≥ 40 reads 41.5", 41.5, 1.1, parts.AtLeast(40), 0.913658979291, 0.0863410207094},
		{"wide u", 100, 3, parts.Limits{Low: 95, High: 105}, 0.904419295454, 0.0955807045456},
	} {
		d := parts.Normal{Value: c.y, U: c.u}
		near(t, c.name, parts.ConformanceProbability(d, c.l), c.p, relative)
		near(t, c.name+", risk", parts.NonconformanceProbability(d, c.l), c.risk, relative)
	}
}

// Far out both probabilities keep their digits: 1 − Φ(20) = 2.753624e-89, as
// tables of the normal tail have it (from memory).
func TestProbabilitiesInTheTail(t *testing.T) {
	l := parts.Limits{Low: 95, High: 105}
	near(t, "far above", parts.ConformanceProbability(parts.Normal{Value: 115, U: 0.5}, l), 2.7536241186e-89, 1e-9)
	near(t, "far below", parts.ConformanceProbability(parts.Normal{Value: 85, U: 0.5}, l), 2.7536241186e-89, 1e-9)
	near(t, "far inside", parts.NonconformanceProbability(parts.Normal{Value: 95.1 + 10 - 0.1, U: 0.5}, parts.AtMost(115)), 2.7536241186e-89, 1e-9)
}

func TestExactlyKnown(t *testing.T) {
	l := parts.Limits{Low: 95, High: 105}
	for y, want := range map[float64]float64{94: 0, 95: 0.5, 100: 1, 105: 0.5, 106: 0} {
		if got := parts.ConformanceProbability(parts.Normal{Value: y}, l); got != want {
			t.Errorf("%g: %g, want %g", y, got, want)
		}
	}
}

// 100 nF ± 5 %, u = 0.5 nF. Figures recomputed with 30 digits.
func TestGuardedLimits(t *testing.T) {
	l := parts.Limits{Low: 95, High: 105}
	near(t, "C_m", parts.CapabilityIndex(l, 0.5), 5, relative)
	check := func(name string, got parts.Limits, err error, low, high float64) {
		t.Helper()
		if err != nil {
			t.Errorf("%s: %v", name, err)
		}
		near(t, name, got.Low, low, relative)
		near(t, name, got.High, high, relative)
	}
	a, err := parts.GuardedLimits(l, 0.5, 1)
	check("strict", a, err, 96, 104)
	near(t, "at its edge", parts.ConformanceProbability(parts.Normal{Value: a.High, U: 0.5}, l), 0.977249868052, relative)
	a, err = parts.GuardedLimits(l, 0.5, -1)
	check("relaxed", a, err, 94, 106)
	a, err = parts.GuardedLimits(l, 0.5, 0)
	check("simple", a, err, 95, 105)
	near(t, "at the limit", parts.ConformanceProbability(parts.Normal{Value: a.High, U: 0.5}, l), 0.5, relative)
	a, err = parts.AcceptanceLimits(l, 0.5, 0.95)
	check("95 %", a, err, 95.8224268135, 104.177573187)
	a, err = parts.AcceptanceLimits(l, 2, 0.95)
	check("95 %, limits close together", a, err, 98.2975330478, 101.702466952)
	near(t, "at the centre", parts.ConformanceProbability(parts.Normal{Value: 100, U: 2}, l), 0.987580669348, relative)
	oneSided := 95 + 2*1.64485362695
	near(t, "one-sided rule", oneSided, 98.2897072539, relative)
	near(t, "at its edge", parts.ConformanceProbability(parts.Normal{Value: oneSided, U: 2}, l), 0.949603384995, relative)
	near(t, "largest u", parts.LargestU(l, 0.95), 2.55106728462, relative)
	a, err = parts.AcceptanceLimits(parts.AtMost(0.02), 0.0006, 0.99)
	if err != nil || !math.IsInf(a.Low, -1) {
		t.Errorf("one-sided: %v, %v", a, err)
	}
	near(t, "one-sided", a.High, 0.02-2.32634787404*0.0006, relative)
}

func TestNeverDecided(t *testing.T) {
	l := parts.Limits{Low: 95, High: 105}
	if _, err := parts.AcceptanceLimits(l, 2.5511, 0.95); !errors.Is(err, parts.ErrNeverDecided) {
		t.Errorf("got %v", err)
	}
	if _, err := parts.GuardedLimits(l, 2.6, 1); !errors.Is(err, parts.ErrNeverDecided) {
		t.Errorf("got %v", err)
	}
	if a, err := parts.AcceptanceLimits(l, 0, 0.95); a != l || err != nil {
		t.Errorf("without uncertainty %v, %v", a, err)
	}
}

func TestDecisionsRefuse(t *testing.T) {
	good := parts.Limits{Low: 95, High: 105}
	for _, l := range []parts.Limits{{Low: 105, High: 95}, {Low: 1, High: 1}, {Low: -inf, High: inf}, {Low: math.NaN(), High: math.NaN()}} {
		if _, err := parts.AcceptanceLimits(l, 1, 0.95); err == nil {
			t.Errorf("%v is accepted", l)
		}
		if _, err := parts.GuardedLimits(l, 1, 1); err == nil {
			t.Errorf("%v is accepted", l)
		}
		if _, err := parts.Judge(1, 1, nil, l, parts.Rule{}); err == nil {
			t.Errorf("%v is accepted", l)
		}
	}
	for _, u := range []float64{-1, inf, math.NaN()} {
		if _, err := parts.AcceptanceLimits(good, u, 0.95); err == nil {
			t.Errorf("u = %g is accepted", u)
		}
	}
	for _, p := range []float64{0, 1, -0.5, math.NaN()} {
		if _, err := parts.AcceptanceLimits(good, 1, p); err == nil {
			t.Errorf("p = %g is accepted", p)
		}
	}
}

// Whatever the limits and the uncertainty, the edges of the acceptance limits have
// exactly the probability asked for.
func TestAcceptanceLimitsSolve(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		half := rapid.Float64Range(0.01, 100).Draw(t, "half")
		p := rapid.Float64Range(0.001, 0.999).Draw(t, "p")
		l := parts.Limits{Low: -half, High: half}
		u := parts.LargestU(l, p) * rapid.Float64Range(0.01, 0.999).Draw(t, "share")
		a, err := parts.AcceptanceLimits(l, u, p)
		if err != nil {
			t.Fatal(err)
		}
		// An estimate is good to a float64 of the limits, and p changes by 0.4 per u.
		tolerance := 1e-12 + 1e-15*half/u
		for _, y := range []float64{a.Low, a.High} {
			if got := parts.ConformanceProbability(parts.Normal{Value: y, U: u}, l); math.Abs(got-p) > tolerance {
				t.Fatalf("p(%g) = %g, want %g", y, got, p)
			}
		}
		if !(a.Low <= a.High) {
			t.Fatalf("%v", a)
		}
	})
}

// A part conforms, or it does not.
func TestProbabilitiesAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := parts.Normal{Value: rapid.Float64Range(-5, 5).Draw(t, "y"), U: rapid.Float64Range(0.01, 5).Draw(t, "u")}
		low := rapid.Float64Range(-5, 4.9).Draw(t, "low")
		l := parts.Limits{Low: low, High: rapid.Float64Range(low+1e-6, 5).Draw(t, "high")}
		p, q := parts.ConformanceProbability(n, l), parts.NonconformanceProbability(n, l)
		if p < 0 || q < 0 || math.Abs(p+q-1) > 1e-14 {
			t.Fatalf("%g + %g", p, q)
		}
	})
}
