package fold

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"
	"testing"

	"example.org/wheatear/lockin/internal/phase"
	"example.org/wheatear/lockin/internal/testkit"
	"pgregory.net/rapid"
)

func TestGroupByGrid(t *testing.T) {
	freqs := []float64{1000, 1000.1234567, 3000, 103 * 48000.0 / 4799, 1500, 205 * 48000.0 / 4799}
	groups, loose := groupByGrid(freqs, 48000, 10_000)
	if !slices.Equal(loose, []int{1}) || len(groups) != 2 {
		t.Fatalf("groups %+v, loose %v", groups, loose)
	}
	if g := groups[0]; g.period != 96 || !slices.Equal(g.index, []int{0, 2, 4}) || !slices.Equal(g.harmonic, []int{2, 6, 3}) {
		t.Errorf("first group %+v, want tones 0, 2, 4 with 2, 6, 3 cycles in 96", g)
	}
	if g := groups[1]; g.period != 4799 || !slices.Equal(g.index, []int{3, 5}) || !slices.Equal(g.harmonic, []int{103, 205}) {
		t.Errorf("second group %+v, want tones 3, 5 with 103, 205 cycles in 4799", g)
	}
	if groups, loose := groupByGrid(freqs, 48000, 10); len(groups) != 0 || len(loose) != len(freqs) {
		t.Errorf("with periods up to 10 there are groups %+v", groups)
	}
}

// Each tone's harmonic over its group's period is the tone, whatever joined.
func TestGroupsKeepTheirTones(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 12).Draw(t, "n")
		freqs := make([]float64, n)
		for i := range freqs {
			p := rapid.IntRange(1, 300).Draw(t, "period")
			freqs[i] = float64(rapid.IntRange(0, 2*p).Draw(t, "k")) * 48000 / float64(p)
		}
		groups, loose := groupByGrid(freqs, 48000, 2000)
		seen := len(loose)
		for _, g := range groups {
			if g.period > 2000 {
				t.Fatalf("period %d", g.period)
			}
			for j, i := range g.index {
				seen++
				if f := float64(g.harmonic[j]) * 48000 / float64(g.period); math.Abs(f-freqs[i]) > 1e-9 {
					t.Fatalf("tone %d of %g Hz became %g Hz", i, freqs[i], f)
				}
			}
		}
		if seen != n {
			t.Fatalf("%d tones placed, want %d", seen, n)
		}
	})
}

func TestSmooth(t *testing.T) {
	for n, want := range map[int]bool{1: true, 2: true, 48_000: true, 480: true, 7: false, 4799: false, 44_100: false, 1 << 18: true} {
		if smooth(n) != want {
			t.Errorf("smooth(%d) = %v", n, !want)
		}
	}
}

// Six tones go by one transform of the folded period, fewer one by one; the
// answers are the same.
func TestFoldedTransformAgreesWithTurning(t *testing.T) {
	x := testkit.RoughSignal(20_000, 0.02, 0.5, 1, 51)
	freqs := []float64{100, 700, 1000, 23_900, 47_000, 24_000, 0}
	all, err := Correlate(nil, x, freqs, 48000)
	if err != nil {
		t.Fatal(err)
	}
	for i, f := range freqs {
		one, err := Correlate(nil, x, []float64{f}, 48000)
		if err != nil {
			t.Fatal(err)
		}
		if d := cmplx.Abs(all[i] - one[0]); d > 1e-9 {
			t.Errorf("%g Hz: %v by transform, %v alone", f, all[i], one[0])
		}
	}
}

// Correlation is linear, and a delay turns it.
func TestCorrelateLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 3000).Draw(t, "n")
		delay := rapid.IntRange(0, 700).Draw(t, "delay")
		f := rapid.SampledFrom([]float64{1000, 777.77, 103 * 48000.0 / 4799, 0.5}).Draw(t, "f")
		a, b := rapid.Float64Range(-2, 2).Draw(t, "a"), rapid.Float64Range(-2, 2).Draw(t, "b")
		x, y := testkit.RoughSignal(n, 0.02, 0.5, 1, uint64(n)), testkit.RoughSignal(n, 0.3, 0.2, 0, 2)
		mixed, late := make([]float64, n), make([]float64, n+delay)
		for i := range mixed {
			mixed[i] = a*x[i] + b*y[i]
			late[delay+i] = x[i]
		}
		sum := func(v []float64) complex128 {
			s, err := Correlate(nil, v, []float64{f}, 48000)
			if err != nil {
				t.Fatal(err)
			}
			return s[0]
		}
		tol := 1e-12 * float64(n)
		if d := cmplx.Abs(sum(mixed) - complex(a, 0)*sum(x) - complex(b, 0)*sum(y)); d > tol {
			t.Fatalf("not linear by %g", d)
		}
		turn := phase.StepOf(f, 48000).Times(uint64(delay)).Neg().Phasor()
		if d := cmplx.Abs(sum(late) - sum(x)*turn); d > tol {
			t.Fatalf("a delay of %d frames is off by %g", delay, d)
		}
	})
}

// dst is used if it is long enough, and only as much of it as there are tones.
func TestSumsDestination(t *testing.T) {
	c, err := NewCorrelator[float32]([]float64{1000, 777}, 48000)
	if err != nil {
		t.Fatal(err)
	}
	c.Add([]float32{1, 2, 3})
	dst := []complex128{9, 9, 9}
	if got := c.Sums(dst); len(got) != 2 || &got[0] != &dst[0] || dst[2] != 9 {
		t.Errorf("got %v in %v", got, dst)
	}
	if got := c.Sums(dst[:0:1]); len(got) != 2 || got[0] != dst[0] {
		t.Errorf("a short dst gave %v", got)
	}
}

// Asking for the sums does not disturb the stream.
func TestSumsMidway(t *testing.T) {
	x := testkit.RoughSignal(9000, 0.02, 0.5, 1, 52)
	for _, freqs := range [][]float64{{1000}, {777.77}, {100, 200, 300, 400, 500, 600}} {
		a, _ := NewCorrelator[float64](freqs, 48000)
		b, _ := NewCorrelator[float64](freqs, 48000)
		a.Add(x[:4001])
		a.Sums(nil)
		a.Add(x[4001:])
		b.Add(x[:4001])
		b.Add(x[4001:])
		if sa, sb := a.Sums(nil), b.Sums(nil); !slices.Equal(sa, sb) {
			t.Errorf("%v Hz: %v after a look, %v without", freqs, sa, sb)
		}
	}
}

func ExampleCorrelate() {
	x := make([]float64, 4800)
	for n := range x {
		t := float64(n) / 48000
		x[n] = 0.5*math.Cos(2*math.Pi*1000*t+0.3) + 0.01*math.Cos(2*math.Pi*3000*t)
	}
	sums, err := Correlate(nil, x, []float64{1000, 3000}, 48000)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, s := range sums {
		phasor := s * complex(2/float64(len(x)), 0)
		fmt.Printf("%.4f at %.4f rad\n", cmplx.Abs(phasor), math.Abs(cmplx.Phase(phasor)))
	}
	// Output:
	// 0.5000 at 0.3000 rad
	// 0.0100 at 0.0000 rad
}

func ExampleCorrelator() {
	c, err := NewCorrelator[float32]([]float64{1000}, 48000)
	if err != nil {
		fmt.Println(err)
		return
	}
	block := make([]float32, 480)
	for range 10 { // as a card delivers them
		for n := range block {
			block[n] = float32(0.25 * math.Cos(2*math.Pi*float64(n)/48))
		}
		c.Add(block)
	}
	fmt.Printf("%.4f\n", 2/float64(c.Frames())*real(c.Sums(nil)[0]))
	// Output: 0.2500
}
