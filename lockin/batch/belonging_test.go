package batch

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"example.org/wheatear/lockin/parts"
)

// drawn is a run of 46 parts of a production and four that do not belong, mixed.
type drawn struct {
	list    []Measured
	foreign []int
	sd      float64 // really drawn among those that belong
	limits  parts.Limits
}

// drawRun draws from a production in units of the tolerance; far is how far off the
// foreign ones are at the least, in the same unit, and 0 means that there are none.
func drawRun(rng *rand.Rand, nominal, tolerance float64, body func(*rand.Rand) float64, far float64) drawn {
	d := drawn{limits: parts.Limits{Low: nominal * (1 - tolerance), High: nominal * (1 + tolerance)}}
	const own = 0.002 // in the same unit
	foreign := rng.Perm(50)[:4]
	var belonging []Measured
	for i := range 50 {
		x := body(rng)
		if far > 0 && slices.Contains(foreign, i) {
			d.foreign = append(d.foreign, i)
			x = far * (1 + 2*rng.Float64()) * float64(1-2*rng.IntN(2))
		} else {
			belonging = append(belonging, Measured{Value: nominal * (1 + tolerance*x)})
		}
		d.list = append(d.list, Measured{nominal * (1 + tolerance*(x+own*rng.NormFloat64())), nominal * tolerance * own})
	}
	_, d.sd = plainMoments(belonging)
	return d
}

// Productions from far within the tolerance to beyond it, and parts that do not belong at
// twice the tolerance and farther: whatever kind and tolerance, the spread of a run is
// that of the parts that belong. What share of runs may be further off than 5 % is what
// such productions and foreign parts overlap by.
func TestSpreadOfThoseThatBelong(t *testing.T) {
	const runs = 200
	normal := func(sd float64) func(*rand.Rand) float64 {
		return func(r *rand.Rand) float64 { return sd * r.NormFloat64() }
	}
	for _, c := range []struct {
		name string
		body func(*rand.Rand) float64
		far  float64
		most float64 // share of runs
	}{
		{"a sixth", normal(1. / 6), 2, 0.005}, {"a sixth, near ones", normal(1. / 6), 1.3, 0.005},
		{"a third", normal(1. / 3), 2, 0.02}, {"a third, far ones", normal(1. / 3), 3, 0.02}, {"a third, none", normal(1. / 3), 0, 0.02},
		{"half, far ones", normal(0.5), 4, 0.06}, {"half, none", normal(0.5), 0, 0.06},
		{"even", func(r *rand.Rand) float64 { return 2*r.Float64() - 1 }, 2, 0.005}, {"even, none", func(r *rand.Rand) float64 { return 2*r.Float64() - 1 }, 0, 0.005},
	} {
		off := 0
		for seed := range uint64(runs) {
			rng := rand.New(rand.NewPCG(seed, 1))
			nominal := math.Pow(10, 16*rng.Float64()-11)
			d := drawRun(rng, nominal, []float64{0.01, 0.05, 0.2}[seed%3], c.body, c.far)
			if s := SpreadOf(d.list, d.limits); math.Abs(s.SD/d.sd-1) > 0.05 {
				off++
			}
		}
		t.Logf("%s: %d of %d runs are off by more than 5 %%", c.name, off, runs)
		if float64(off) > c.most*runs {
			t.Errorf("%s: %d of %d runs are off by more than 5 %%", c.name, off, runs)
		}
	}
}

func TestBelonging(t *testing.T) {
	limits := parts.Limits{Low: 95, High: 105}
	nan, inf := math.NaN(), math.Inf(1)
	run := func(values ...float64) (list []Measured) {
		for _, v := range values {
			list = append(list, Measured{v, 0.01})
		}
		return list
	}
	for _, c := range []struct {
		name     string
		list     []Measured
		limits   parts.Limits
		outliers []int
	}{
		{"none", nil, limits, nil},
		{"unread", run(nan, 100, inf, 101), limits, []int{0, 2}},
		{"all beyond, and alike", run(201, 202, 203, 202, 201, 202), limits, nil},
		{"one beyond, too few to tell", run(100, 101, 99, 106), limits, []int{3}},
		{"most beyond, too few to tell", run(100, 107, 108, 106), limits, nil},
		{"one far off", run(100, 101, 99, 100, 100.5, 99.5, 101, 99, 100, 100, 160), limits, []int{10}},
		{"just beyond, the tail of a wide run", run(95.5, 97, 98, 99, 100, 101, 102, 103, 104.5, 105.2), limits, nil},
		{"no limits", run(100, 101, 99, 100, 100.5, 99.5, 101, 99, 100, 100, 106), parts.Limits{Low: nan, High: nan}, []int{10}},
	} {
		kept, outliers, _ := belonging(c.list, c.limits)
		if !slices.Equal(outliers, c.outliers) || len(kept)+len(outliers) != len(c.list) || !slices.IsSorted(kept) {
			t.Errorf("%s: kept %v, outliers %v, want %v", c.name, kept, outliers, c.outliers)
		}
	}
}

// A part that was read badly counts for less; the estimate solves its equation.
func TestSpreadWeighs(t *testing.T) {
	const tau, runs = 2.0, 600
	var plain, weighed float64
	for seed := range uint64(runs) {
		rng := rand.New(rand.NewPCG(seed, 9))
		var list []Measured
		mean := 0.0
		for i := range 30 {
			u := 0.1
			if i%3 == 0 {
				u = 6
			}
			list = append(list, Measured{100 + tau*rng.NormFloat64() + u*rng.NormFloat64(), u})
			mean += list[i].Value / 30
		}
		s := SpreadOf(list, parts.Limits{})
		if len(s.Outliers) > 0 {
			continue
		}
		if q, _, _ := quotient(list, s.SD*s.SD); s.SD > 0 && math.Abs(q-29) > 1e-6 {
			t.Fatalf("seed %d: Q is %g at the estimate, want 29", seed, q)
		}
		weighed += (s.Mean - 100) * (s.Mean - 100)
		plain += (mean - 100) * (mean - 100)
	}
	if weighed > 0.7*plain {
		t.Errorf("the weighted mean scatters by %.3g, the plain one by %.3g", math.Sqrt(weighed/runs), math.Sqrt(plain/runs))
	}
}

// The rule by which each part is left out is told.
func TestRulesOfOutliers(t *testing.T) {
	nan := math.NaN()
	var list []Measured
	for _, v := range []float64{100, 101, 99, 100, nan, 100.5, 99.5, 101, 99, 100, 100, 160, 99.8, 100.2, 106.5} {
		list = append(list, Measured{v, 0.01})
	}
	s := SpreadOf(list, parts.Limits{Low: 95, High: 105})
	if !slices.Equal(s.Outliers, []int{4, 11, 14}) || !slices.Equal(s.Rules, []Rule{Unread, Far, Far}) {
		t.Errorf("left out %v for %q", s.Outliers, s.Rules)
	}
	few := SpreadOf([]Measured{{100, 0.01}, {101, 0.01}, {99, 0.01}, {106, 0.01}}, parts.Limits{Low: 95, High: 105})
	if !slices.Equal(few.Outliers, []int{3}) || !slices.Equal(few.Rules, []Rule{Foreign}) {
		t.Errorf("of few: left out %v for %q", few.Outliers, few.Rules)
	}
}

// Sums from which parts are taken give what is summed anew, also behind parts a million
// times farther off than the rest are apart.
func TestScatterTakesOut(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	var list []Measured
	var left []int
	for i := range 400 {
		v := 1000 + rng.NormFloat64()
		if i%40 == 0 {
			v += 1e6 * rng.NormFloat64()
		}
		list, left = append(list, Measured{v, 0}), append(left, i)
	}
	slices.SortFunc(left, func(a, b int) int {
		return int(math.Copysign(1, math.Abs(list[b].Value-1000)-math.Abs(list[a].Value-1000)))
	})
	m := scatterOf(list, left)
	for len(left) > 10 {
		out := left[0]
		left = left[1:]
		m.without(list, out, left)
		// Rounding is 1e-9 of the variance at the most, and so half of that of its root.
		if mean, sd := plainMoments(pick(list, left)); math.Abs(m.sd()/sd-1) > 1e-9 || math.Abs(m.mean()-mean) > 1e-9*1000 {
			t.Fatalf("%d left: %g and %g, want %g and %g", len(left), m.mean(), m.sd(), mean, sd)
		}
	}
}
