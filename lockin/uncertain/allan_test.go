package uncertain_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"example.org/wheatear/lockin/uncertain"
)

// published is the test series of NIST SP 1065, 12.4: n ← 16807·n mod (2³¹ − 1),
// from 1234567890, divided by 2³¹ − 1.
func published() []float64 {
	const modulus = 1<<31 - 1
	y := make([]float64, 1000)
	n := int64(1234567890)
	for i := range y {
		y[i] = float64(n) / modulus
		n = 16807 * n % modulus
	}
	return y
}

// NIST SP 1065, table 31, from memory. Tolerance: half of the last printed digit.
func TestAllanDeviationPublished(t *testing.T) {
	y := published()
	for _, c := range []struct {
		m    int
		over float64
	}{{1, 2.922319e-01}, {10, 9.159953e-02}, {100, 3.241343e-02}} {
		over, err := uncertain.AllanDeviation(y, 1, c.m)
		if err != nil || math.Abs(over.Deviation-c.over) > 0.5e-6*math.Pow(10, math.Floor(math.Log10(c.over))) {
			t.Errorf("overlapping, %d: %.7g, %v; want %g", c.m, over.Deviation, err, c.over)
		}
	}
}

// allanSlow is the definition, term by term.
func allanSlow(y []float64, m int) float64 {
	total, terms := 0.0, 0
	for j := 0; j+2*m <= len(y); j++ {
		d := 0.0
		for i := j; i < j+m; i++ {
			d += y[i+m] - y[i]
		}
		total, terms = total+d*d, terms+1
	}
	return math.Sqrt(total / float64(terms) / 2 / float64(m) / float64(m))
}

// It is the definition, does not feel an offset, and scales. Sums of n readings
// are good to about n·1e-16 of their size.
func TestAllanDeviationLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		y := rapid.SliceOfN(rapid.Float64Range(-1, 1), 4, 60).Draw(t, "y")
		m := rapid.IntRange(1, len(y)/2).Draw(t, "m")
		a, err := uncertain.AllanDeviation(y, 0.5, m)
		if err != nil {
			t.Fatal(err)
		}
		const tolerance = 1e-13
		if want := allanSlow(y, m); math.Abs(a.Deviation-want) > tolerance {
			t.Fatalf("got %g, want %g", a.Deviation, want)
		}
		moved := make([]float64, len(y))
		for i, v := range y {
			moved[i] = 3*v + 7
		}
		b, _ := uncertain.AllanDeviation(moved, 0.5, m)
		if math.Abs(b.Deviation-3*a.Deviation) > 100*tolerance {
			t.Fatalf("moved %g, want %g", b.Deviation, 3*a.Deviation)
		}
		if a.TauS != 0.5*float64(m) || !(a.Low <= a.Deviation && a.Deviation <= a.High) || a.Dof < 1 {
			t.Fatalf("%+v", a)
		}
	})
}

// A straight drift of c per reading has the deviation c·m/√2: averages are m·c apart.
func TestAllanDeviationOfDrift(t *testing.T) {
	y := make([]float64, 500)
	for i := range y {
		y[i] = 1000 + 0.01*float64(i)
	}
	for _, m := range []int{1, 7, 100, 250} {
		a, err := uncertain.AllanDeviation(y, 1, m)
		if want := 0.01 * float64(m) / math.Sqrt2; err != nil || math.Abs(a.Deviation-want) > 1e-9*want {
			t.Errorf("%d: %g, %v; want %g", m, a.Deviation, err, want)
		}
	}
}

// Of white noise the interval holds σ/√m as often as it says: of 2000 series, 95 %
// within four times the sampling error of 0.5 %, and 1 % more for the formula of
// the degrees of freedom, which is an approximation.
func TestAllanIntervalCovers(t *testing.T) {
	const runs, n = 2000, 128
	rng := rand.New(rand.NewPCG(4, 2))
	for _, m := range []int{1, 4, 16} {
		held := 0
		for range runs {
			y := make([]float64, n)
			for i := range y {
				y[i] = rng.NormFloat64()
			}
			a, err := uncertain.AllanDeviation(y, 1, m)
			if err != nil {
				t.Fatal(err)
			}
			if truth := 1 / math.Sqrt(float64(m)); a.Low <= truth && truth <= a.High {
				held++
			}
		}
		if share := float64(held) / runs; math.Abs(share-0.95) > 0.03 {
			t.Errorf("%d: %.1f %% cover the true value", m, 100*share)
		}
	}
}

// White noise of 1 on a drift of 0.003 per reading: they meet where 1/√m = 0.003·m/√2,
// at m = 60; on powers of two that is 64, give or take one.
func TestLongestUseful(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 2))
	y := make([]float64, 4096)
	for i := range y {
		y[i] = rng.NormFloat64() + 0.003*float64(i)
	}
	curve, err := uncertain.AllanCurve(y, 2)
	if err != nil || len(curve) != 11 {
		t.Fatalf("%d points, %v", len(curve), err)
	}
	best, worse := uncertain.LongestUseful(curve)
	if best.Average < 32 || best.Average > 128 || !worse || best.TauS != 2*float64(best.Average) {
		t.Errorf("%+v, %v", best, worse)
	}
	curve, _ = uncertain.AllanCurve(published(), 1)
	if _, worse := uncertain.LongestUseful(curve); worse {
		t.Error("white noise does not get worse")
	}
	if best, worse := uncertain.LongestUseful(nil); worse || best != (uncertain.Allan{}) {
		t.Errorf("nothing gives %+v", best)
	}
}

func TestAllanRefuses(t *testing.T) {
	for _, c := range []struct {
		y     []float64
		stepS float64
		m     int
	}{
		{nil, 1, 1}, {[]float64{1}, 1, 1}, {[]float64{1, 2, 3}, 1, 2}, {[]float64{1, 2}, 1, 0}, {[]float64{1, 2}, 1, math.MaxInt},
		{[]float64{1, 2}, 0, 1}, {[]float64{1, 2}, math.NaN(), 1}, {[]float64{1, math.Inf(1)}, 1, 1}, {[]float64{1, math.NaN()}, 1, 1},
	} {
		if a, err := uncertain.AllanDeviation(c.y, c.stepS, c.m); err == nil {
			t.Errorf("%+v gives %+v", c, a)
		}
	}
	if _, err := uncertain.AllanCurve([]float64{1}, 1); err == nil {
		t.Error("a curve of one reading")
	}
}

func ExampleAllanDeviation() {
	y := []float64{0.892, 0.809, 0.823, 0.798, 0.671, 0.644, 0.883, 0.903, 0.677}
	for _, m := range []int{1, 2} {
		a, _ := uncertain.AllanDeviation(y, 1, m)
		fmt.Printf("%g s: %.4f\n", a.TauS, a.Deviation)
	}
	// Output:
	// 1 s: 0.0912
	// 2 s: 0.0860
}

// The nine readings of NBS Monograph 140, annex 8.E, and their deviations, from
// memory.
func TestAllanDeviationOfNineReadings(t *testing.T) {
	y := []float64{892, 809, 823, 798, 671, 644, 883, 903, 677}
	for m, want := range map[int]float64{1: 91.22945, 2: 85.95287} {
		if a, err := uncertain.AllanDeviation(y, 1, m); err != nil || math.Abs(a.Deviation-want) > 5e-6 {
			t.Errorf("%d: %.7g, %v; want %g", m, a.Deviation, err, want)
		}
	}
}
