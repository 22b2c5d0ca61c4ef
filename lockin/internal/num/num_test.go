package num

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

func TestRobustSpread(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 2))
	x := make([]float64, 4000)
	for i := range x {
		x[i] = 5 + 2*rng.NormFloat64()
		if i%4 == 0 {
			x[i] = 100 + rng.Float64()
		}
	}
	centre, sigma := RobustSpread(x)
	// A quarter of foreign values widens the half by z(5/6)/z(3/4) = 1.43.
	if math.Abs(centre-5) > 0.5 || sigma < 1.8 || sigma > 3.2 {
		t.Errorf("centre %g, sigma %g of N(5, 2) with a quarter at 100", centre, sigma)
	}
	if c, s := RobustSpread(nil); c != 0 || s != 0 {
		t.Errorf("of nothing: %g, %g", c, s)
	}
}

func TestGcdLcm(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := rapid.IntRange(1, 10_000).Draw(t, "a"), rapid.IntRange(1, 10_000).Draw(t, "b")
		g, l := Gcd(a, b), Lcm(a, b)
		if a%g != 0 || b%g != 0 || l%a != 0 || l%b != 0 || g*l != a*b {
			t.Fatalf("gcd(%d, %d) = %d, lcm %d", a, b, g, l)
		}
	})
}
