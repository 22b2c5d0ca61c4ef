package parts_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"example.org/wheatear/lockin/parts"
)

var (
	_ parts.Distribution = parts.Normal{}
	_ parts.Distribution = (*parts.Draws)(nil)
)

// A sample of a normal quantity is judged as the quantity is, within what n draws
// can tell: √(p(1−p)/n), four times.
func TestDrawsOfANormal(t *testing.T) {
	const n = 20_000
	rng := rand.New(rand.NewPCG(7, 7))
	sample := make([]float64, n)
	for i := range sample {
		sample[i] = 104.2 + 0.5*rng.NormFloat64()
	}
	before := sample[0]
	d, err := parts.NewDraws(sample)
	if err != nil || sample[0] != before {
		t.Fatalf("%v, or the sample was changed", err)
	}
	l := parts.Limits{Low: 95, High: 105}
	want := 0.9452007083
	if got := parts.ConformanceProbability(d, l); math.Abs(got-want) > 4*math.Sqrt(want*(1-want)/n) {
		t.Errorf("got %g, want %g", got, want)
	}
	if p := parts.ConformanceProbability(d, parts.Limits{Low: 200, High: 300}); p != 0.5/(n+1) {
		t.Errorf("far from all draws the probability is %g", p)
	}
	if low := d.Below(90); low != 0.5/(n+1) {
		t.Errorf("a tail without draws has probability %g", low)
	}
}

func TestDrawsCount(t *testing.T) {
	d, err := parts.NewDraws([]float64{3, 1, 2, 2, inf})
	if err != nil {
		t.Fatal(err)
	}
	for x, k := range map[float64]float64{0: 0, 1: 0.5, 1.5: 1, 2: 2, 2.5: 3, 1e9: 4} {
		if got, want := d.Below(x), (k+0.5)/6; got != want || d.Above(x) != 1-want {
			t.Errorf("below %g: %g, want %g", x, got, want)
		}
	}
	for _, bad := range [][]float64{nil, {1, math.NaN()}} {
		if _, err := parts.NewDraws(bad); err == nil {
			t.Errorf("%v is accepted", bad)
		}
	}
}

// Prior knowledge weighs by its variance: worked by hand, 1/(1/4 + 1/1) = 0.8.
func TestAfter(t *testing.T) {
	got := parts.Normal{Value: 104, U: 1}.After(parts.Normal{Value: 100, U: 2})
	near(t, "value", got.Value, (100.0/4+104)/(1.0/4+1), 1e-14)
	near(t, "u", got.U, math.Sqrt(0.8), 1e-14)
	known := parts.Normal{Value: 1}
	if got := known.After(parts.Normal{Value: 2, U: 1}); got != known {
		t.Errorf("what is known exactly became %v", got)
	}
	if got := (parts.Normal{Value: 2, U: 1}).After(known); got != known {
		t.Errorf("exact prior knowledge became %v", got)
	}
	if got := (parts.Normal{Value: 2, U: 1}).After(parts.Normal{U: inf}); got != (parts.Normal{Value: 2, U: 1}) {
		t.Errorf("no prior knowledge changed it to %v", got)
	}
}

// Every distribution is one: rising, between 0 and 1, both sides together 1.
func TestDistributionLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		values := rapid.SliceOfNDistinct(rapid.Float64Range(-10, 10), 2, 20, rapid.ID).Draw(t, "values")
		draws, err := parts.NewDraws(values)
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range []parts.Distribution{parts.Normal{Value: values[0], U: math.Abs(values[0] - values[1])}, draws} {
			x := rapid.Float64Range(-20, 20).Draw(t, "x")
			y := rapid.Float64Range(x, 20).Draw(t, "y")
			a, b := d.Below(x), d.Below(y)
			if !(a >= 0 && b <= 1 && a <= b) || math.Abs(a+d.Above(x)-1) > 1e-14 {
				t.Fatalf("%T: below %g %g, below %g %g, above %g", d, x, a, y, b, d.Above(x))
			}
		}
	})
}
