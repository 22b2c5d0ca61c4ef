package parts_test

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"example.org/wheatear/lockin/parts"
)

var soak = flag.Bool("soak", false, "run the long statistical tests")

func TestJudge(t *testing.T) {
	l := parts.Limits{Low: 95, High: 105}
	byGuard, simple, relaxed := parts.Rule{Kind: parts.ByGuard}, parts.Rule{Kind: parts.Simple}, parts.Rule{Kind: parts.Relaxed}
	for _, c := range []struct {
		name string
		y    float64
		rule parts.Rule
		want parts.Outcome
		risk float64
	}{
		{"in the middle", 100, parts.Rule{}, parts.Pass, 1.523970604832e-23}, // 2(1−Φ(10))
		{"conforms with 97.7 %", 104, parts.Rule{}, parts.Pass, 0.0227501319482},
		{"conforms with 94.5 %", 104.2, parts.Rule{}, parts.Undecided, 0.0547992916996},
		{"on the limit", 105, parts.Rule{}, parts.Undecided, 0.5},
		{"conforms with 27 %", 105.3, parts.Rule{}, parts.Undecided, 0.27425311775},
		{"conforms with 2.3 %", 106, parts.Rule{}, parts.Fail, 0.0227501319482},
		{"99 % is wanted", 104, parts.Rule{Probability: 0.99}, parts.Undecided, 0.0227501319482},
		{"edge of the guard", 104, byGuard, parts.Pass, 0.0227501319482},
		{"within the guard", 104.2, byGuard, parts.Undecided, 0.0547992916996},
		{"beyond by less than the guard", 105.3, byGuard, parts.Undecided, 0.27425311775},
		{"beyond by the guard and more", 106.5, byGuard, parts.Fail, 0.0013498980316301},
		{"half a guard", 104.6, parts.Rule{Kind: parts.ByGuard, GuardRatio: 0.5}, parts.Undecided, 0.211855398583},
		{"shared risk, inside", 105, simple, parts.Pass, 0.5},
		{"shared risk, outside", 105.3, simple, parts.Fail, 0.27425311775},
		{"relaxed", 105.3, relaxed, parts.Pass, 0.72574688225},
		{"relaxed, beyond", 106.5, relaxed, parts.Fail, 0.0013498980316301},
	} {
		v, err := parts.Judge(c.y, 0.5, nil, l, c.rule)
		if err != nil || v.Outcome != c.want {
			t.Errorf("%s: %v, %v; want %s", c.name, v.Outcome, err, c.want)
		}
		near(t, c.name, v.Risk, c.risk, relative)
		near(t, c.name+", C_m", v.Capability, 5, relative)
		if v.Outcome == parts.Pass != v.Acceptance.Contain(c.y) {
			t.Errorf("%s: %s, but the acceptance limits are %v", c.name, v.Outcome, v.Acceptance)
		}
	}
}

// With the uncertainty that is said to be enough the verdict is clear, and with a
// few per cent more it is not.
func TestEnoughU(t *testing.T) {
	for _, rule := range []parts.Rule{{}, {Probability: 0.99}, {Kind: parts.ByGuard}} {
		for _, y := range []float64{94.2, 95.5, 99.9, 100, 104.9, 105.4} {
			l := parts.Limits{Low: 95, High: 105}
			v, err := parts.Judge(y, 4, nil, l, rule)
			if err != nil || v.Outcome != parts.Undecided {
				t.Fatalf("%g: %v, %v", y, v.Outcome, err)
			}
			enough, _ := parts.Judge(y, v.EnoughU*0.999, nil, l, rule)
			short, _ := parts.Judge(y, v.EnoughU*1.03, nil, l, rule)
			if enough.Outcome == parts.Undecided || short.Outcome != parts.Undecided {
				t.Errorf("%v, %g: %s with u = %g, %s with 3 %% more", rule, y, enough.Outcome, v.EnoughU, short.Outcome)
			}
		}
	}
	if v, _ := parts.Judge(105, 1, nil, parts.Limits{Low: 95, High: 105}, parts.Rule{}); !math.IsNaN(v.EnoughU) {
		t.Errorf("on a limit %g would be enough", v.EnoughU)
	}
}

func TestJudgeRefuses(t *testing.T) {
	l := parts.Limits{Low: 95, High: 105}
	for _, rule := range []parts.Rule{{Kind: 9}, {Probability: 1}, {Probability: 0.5}, {Probability: math.NaN()}, {GuardRatio: -1}, {GuardRatio: inf}} {
		if _, err := parts.Judge(100, 1, nil, l, rule); err == nil {
			t.Errorf("%+v is accepted", rule)
		}
	}
	for _, y := range []float64{math.NaN(), inf, -inf} {
		if _, err := parts.Judge(y, 1, nil, l, parts.Rule{}); err == nil {
			t.Errorf("%g is judged", y)
		}
	}
	v, err := parts.Judge(100, 3, nil, l, parts.Rule{})
	if err != nil || v.Outcome != parts.Undecided || !math.IsNaN(v.Acceptance.Low) {
		t.Errorf("no reading can pass with u = 3: %+v, %v", v, err)
	}
}

// Parts of a production are measured and judged. Of those that were passed, as
// many do not conform as the verdicts said on the whole, within the sampling
// error; and the fractions of all parts are the global risks.
func TestFalseAcceptRate(t *testing.T) {
	simulateDecisions(t, 10_000, 1)
}

func TestSoakFalseAcceptRate(t *testing.T) {
	if !*soak {
		t.Skip("long: go test -soak")
	}
	simulateDecisions(t, 3_000_000, 2)
}

func simulateDecisions(t *testing.T, n int, seed uint64) {
	l := parts.Limits{Low: 95, High: 105}
	process := parts.Normal{Value: 100, U: 3.5}
	const u = 1.0
	for _, rule := range []parts.Rule{{}, {Kind: parts.Simple}, {Kind: parts.ByGuard, GuardRatio: 0.5}, {Kind: parts.Relaxed}} {
		rng := rand.New(rand.NewPCG(seed, uint64(rule.Kind)))
		wrong, stated, variance, rejected := 0, 0.0, 0.0, 0
		var acceptance parts.Limits
		for range n {
			x := process.Value + process.U*rng.NormFloat64()
			reading := parts.Normal{Value: x + u*rng.NormFloat64(), U: u}
			// The decision is made on the reading, the risk with what is known of
			// the production: else it would be that of a part from anywhere.
			v, err := parts.Judge(reading.Value, u, nil, l, rule)
			if err != nil {
				t.Fatal(err)
			}
			acceptance = v.Acceptance
			if v.Outcome != parts.Pass {
				if l.Contain(x) {
					rejected++
				}
				continue
			}
			risk := parts.NonconformanceProbability(reading.After(process), l)
			stated, variance = stated+risk, variance+risk*(1-risk)
			if !l.Contain(x) {
				wrong++
			}
		}
		const most = 4 // standard deviations: one in 16,000 runs is further off
		if d := math.Abs(float64(wrong) - stated); d > most*math.Sqrt(variance) {
			t.Errorf("%+v: %d false accepts, stated %.1f ± %.1f", rule, wrong, stated, math.Sqrt(variance))
		}
		global := globalRisks(process, u, l, acceptance)
		for name, c := range map[string][2]float64{"consumer": {float64(wrong), global.consumer}, "producer": {float64(rejected), global.producer}} {
			want := c[1] * float64(n)
			if sd := math.Sqrt(want * (1 - c[1])); math.Abs(c[0]-want) > most*sd {
				t.Errorf("%+v, %s: %g, want %.1f ± %.1f", rule, name, c[0], want, sd)
			}
		}
		t.Logf("%+v: %d false accepts in %d, stated %.1f ± %.1f, global %.1f", rule, wrong, n, stated, math.Sqrt(variance), global.consumer*float64(n))
	}
}

// A person without prior knowledge states the probability of the reading alone:
// over parts from anywhere, as many conform as it says.
func TestConformanceProbabilityIsCalibrated(t *testing.T) {
	l := parts.Limits{Low: 95, High: 105}
	rng := rand.New(rand.NewPCG(3, 1))
	conform, stated, variance := 0, 0.0, 0.0
	for range 10_000 {
		x := 80 + 40*rng.Float64()
		y := x + 0.8*rng.NormFloat64()
		p := parts.ConformanceProbability(parts.Normal{Value: y, U: 0.8}, l)
		stated, variance = stated+p, variance+p*(1-p)
		if l.Contain(x) {
			conform++
		}
	}
	if d := math.Abs(float64(conform) - stated); d > 4*math.Sqrt(variance) {
		t.Errorf("%d conform, stated %.1f ± %.1f", conform, stated, math.Sqrt(variance))
	}
}

func ExampleJudge() {
	// 100 nF ± 5 %, read as 104.2 nF with u = 0.5 nF.
	v, _ := parts.Judge(104.2, 0.5, nil, parts.Limits{Low: 95, High: 105}, parts.Rule{})
	fmt.Printf("%s: conforms with %.1f %%; u = %.2f nF would decide\n", v.Outcome, 100*v.Conformance, v.EnoughU)
	// Output: undecided: conforms with 94.5 %; u = 0.49 nF would decide
}
