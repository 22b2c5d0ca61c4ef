package phase

import (
	"math"
	"math/big"
	"testing"

	"example.org/wheatear/lockin/internal/num"
	"pgregory.net/rapid"
)

// Phase steps against exact rational arithmetic.
func TestTurnsOfIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rate := rapid.Float64Range(1, 1e6).Draw(t, "rate")
		freq := rapid.Float64Range(-3e6, 3e6).Draw(t, "freq")
		n := rapid.Uint64Range(0, 1<<40).Draw(t, "n")
		want := new(big.Rat).Quo(new(big.Rat).SetFloat64(freq), new(big.Rat).SetFloat64(rate))
		want.Mul(want, new(big.Rat).SetInt(new(big.Int).SetUint64(n)))
		got := TurnsOf(freq, rate).Times(n)
		diff := new(big.Rat).Sub(new(big.Rat).SetFrac(bigTurns(got), new(big.Int).Lsh(big.NewInt(1), 128)), want)
		off, _ := diff.Float64()
		off -= math.Round(off)
		// 2⁻¹²⁸ of a turn, 2⁴⁰ times over; a plain product would be off by 1e-4.
		if f := fraction(diff); f > 0x1p-87 {
			t.Fatalf("%g/%g, %d steps: off by %g turn (%g)", freq, rate, n, f, off)
		}
	})
}

func bigTurns(t Turns) *big.Int {
	v := new(big.Int).SetUint64(t.hi)
	return v.Lsh(v, 64).Add(v, new(big.Int).SetUint64(t.lo))
}

// fraction returns the distance of r to the nearest whole number.
func fraction(r *big.Rat) float64 {
	whole := new(big.Int).Div(r.Num(), r.Denom())
	rest, _ := new(big.Rat).Sub(r, new(big.Rat).SetInt(whole)).Float64()
	return math.Min(rest, 1-rest)
}

func TestTurnsSincos(t *testing.T) {
	for _, c := range []struct {
		t        Turns
		sin, cos float64
	}{
		{GridTurns(0, 8), 0, 1}, {GridTurns(1, 4), 1, 0}, {GridTurns(1, 2), 0, -1}, {GridTurns(3, 4), -1, 0},
		{GridTurns(1, 8), math.Sqrt2 / 2, math.Sqrt2 / 2}, {GridTurns(1, 12), 0.5, math.Sqrt(3) / 2},
		{GridTurns(1, 6), math.Sqrt(3) / 2, 0.5}, {GridTurns(1, 12).Neg(), -0.5, math.Sqrt(3) / 2},
	} {
		s, co := c.t.Sincos()
		if math.Abs(s-c.sin) > 2e-16 || math.Abs(co-c.cos) > 2e-16 {
			t.Errorf("%g turn: got %g, %g, want %g, %g", c.t.Of(), s, co, c.sin, c.cos)
		}
	}
}

func TestTurnsOfFloat(t *testing.T) {
	for _, c := range []struct {
		t    Turns
		want float64
	}{
		{Turns{}, 0}, {GridTurns(1, 2), -0.5}, {GridTurns(1, 4), 0.25}, {GridTurns(3, 4), -0.25},
		{Turns{0, 5}, 5 * 0x1p-128}, {Turns{0, 5}.Neg(), -5 * 0x1p-128}, {Near(-0x1p-50), -0x1p-50}, {Near(7.25), 0.25},
	} {
		if got := c.t.Of(); got != c.want {
			t.Errorf("%v: got %g, want %g", c.t, got, c.want)
		}
	}
}

func TestFillPhasors(t *testing.T) {
	dst := make([]complex128, 100)
	start, step := GridTurns(5, 7), TurnsOf(777.77, 48000)
	FillPhasors(dst, start, step)
	for i, got := range dst {
		want := start.Add(step.Times(uint64(i))).Phasor()
		if d := got - want; math.Hypot(real(d), imag(d)) > 4e-16 {
			t.Errorf("entry %d: off by %v", i, d)
		}
	}
}

func TestGrid(t *testing.T) {
	for _, c := range []struct {
		freq, rate float64
		k, period  int
		ok         bool
	}{
		{1000, 48000, 1, 48, true}, {1000, 44100, 10, 441, true}, {0, 48000, 0, 1, true},
		{24000, 48000, 1, 2, true}, {103 * 48000.0 / 4799, 48000, 103, 4799, true},
		{49000, 48000, 49, 48, true}, {997, 48000, 997, 48000, true}, {120.1, 192000, 0, 0, false},
		{1000.1234567, 48000, 0, 0, false}, {-1000, 48000, 0, 0, false}, {math.NaN(), 48000, 0, 0, false},
		{math.Inf(1), 48000, 0, 0, false}, {1000, 0, 0, 0, false}, {math.Pi * 100, 48000, 0, 0, false},
	} {
		k, period, ok := Grid(c.freq, c.rate)
		if k != c.k || period != c.period || ok != c.ok {
			t.Errorf("Grid(%g, %g) = %d, %d, %v, want %d, %d, %v", c.freq, c.rate, k, period, ok, c.k, c.period, c.ok)
		}
	}
}

// Every grid frequency, as the nearest float64 says it, is found again.
func TestGridFindsWhatIsMeant(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		period := rapid.IntRange(1, MaxGridPeriod).Draw(t, "period")
		k := rapid.IntRange(0, period).Draw(t, "k")
		rate := rapid.SampledFrom([]float64{44100, 48000, 96000, 192000, 47999.3}).Draw(t, "rate")
		gk, gp, ok := Grid(float64(k)*rate/float64(period), rate)
		if g := num.Gcd(k, period); !ok || gk != k/g || gp != period/g {
			t.Fatalf("%d/%d of %g Hz: got %d/%d, %v", k, period, rate, gk, gp, ok)
		}
	})
}
