package level

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/uncertain"
)

const freqHz = 1000

// rig makes points as a jig would read them: noise that falls with the level,
// and a share of uncertainty that all points have in common.
type rig struct {
	rng    *rand.Rand
	floor  float64 // noise in volts rms
	shared float64 // relative standard uncertainty of all points alike
	loop   float64 // ohm around the part
}

// levels are n source voltages from 5 mV to 0.5 V rms.
func levels(n int) []float64 {
	var out []float64
	for i := range n {
		out = append(out, 5e-3*math.Pow(100, float64(i)/float64(n-1)))
	}
	return out
}

// points reads a part that has impedance z and harmonics h at volts across it.
func (g rig) points(n int, z func(volt float64) complex128, h func(volt float64) map[int]complex128) []Point {
	shift := 1 + g.shared*g.rng.NormFloat64()
	var out []Point
	for _, volt := range levels(n) {
		at := z(volt)
		u := g.floor / volt * abs(at)
		read := complex(shift, 0)*at + complex(u*g.rng.NormFloat64(), u*g.rng.NormFloat64())
		out = append(out, g.point(volt, read, u, h(volt)))
	}
	return out
}

func abs(z complex128) float64 { return math.Hypot(real(z), imag(z)) }

func (g rig) point(volt float64, z complex128, u float64, h map[int]complex128) Point {
	q := func(v, u float64) uncertain.Quantity {
		return uncertain.Quantity{Value: v, U: u, Low: v - 1.96*u, High: v + 1.96*u}
	}
	r := impedance.Void(q(freqHz, 0))
	r.State = impedance.OK
	total := func(v, own float64) float64 { return math.Hypot(own, g.shared*v) }
	w := 2 * math.Pi * freqHz
	r.Re, r.Im = q(real(z), total(real(z), u)), q(imag(z), total(imag(z), u))
	relative := total(imag(z), u) / math.Abs(imag(z))
	if imag(z) < 0 {
		c := -1 / (w * imag(z))
		r.Series.C = q(c, c*relative)
	} else {
		r.Series.L = q(imag(z)/w, imag(z)/w*relative)
	}
	d := math.Abs(real(z) / imag(z))
	r.D = q(d, u/abs(z))
	p := Point{Level: fixture.PartLevel{VoltRMS: volt, AmpereRMS: volt / abs(z)}, Reading: r, NoiseU: [2]float64{u, u}}
	for order := 2; order <= 5; order++ {
		hu := g.floor / volt
		e := h[order] + complex(hu*g.rng.NormFloat64(), hu*g.rng.NormFloat64())
		p.Harmonics = append(p.Harmonics, fixture.Harmonic{Order: order, Relative: e, U: hu})
	}
	return p
}

func none(float64) map[int]complex128 { return nil }

// The laws of parts, to the first order in which they depend on level. A law
// q = C·v·(1 - (v/V)²/2) read with a sine of peak A has C·(1 - 3/8·(A/V)²) and a
// third harmonic of 1/8·(A/V)²: harmonic balance of a cubic.
func ceramicAt(farad, bend float64) (z func(float64) complex128, h func(float64) map[int]complex128) {
	x2 := func(volt float64) float64 { return 2 * volt * volt / (bend * bend) }
	z = func(volt float64) complex128 {
		c := farad * (1 - 3.0/8*x2(volt))
		return complex(0.02, -1) * complex(1/(2*math.Pi*freqHz*c), 0)
	}
	return z, func(volt float64) map[int]complex128 { return map[int]complex128{3: complex(x2(volt)/8, 0)} }
}

// coreAt follows Rayleigh: L rises in proportion to the current, the loss too, and
// the third harmonic is 2/(5π)·... of the change; here one fifth of it.
func coreAt(henry, slope float64) (z func(float64) complex128, h func(float64) map[int]complex128) {
	w := 2 * math.Pi * freqHz
	z = func(volt float64) complex128 {
		rise := slope * volt / (w * henry)
		return complex(0.03+0.42*rise, 1+rise) * complex(w*henry, 0)
	}
	return z, func(volt float64) map[int]complex128 {
		return map[int]complex128{3: complex(0, 0.2*slope*volt/(w*henry))}
	}
}

// junctionAt is a junction across a resistor or capacitor y: i = Is·(exp(v/nVt) - 1)
// gives I1 = 2·Is·I₁(A/nVt) and harmonics in the ratio of the modified Bessel
// functions (here by their series), relative to the admittance of the whole.
func junctionAt(y complex128) (z func(float64) complex128, h func(float64) map[int]complex128) {
	const saturation, volts = 4e-9, 0.048
	bessel := func(n int, x float64) float64 {
		term, sum := 1.0, 0.0
		for k := 1; k <= n; k++ {
			term *= x / 2 / float64(k)
		}
		for k := 0; k < 60; k++ {
			sum += term
			term *= x * x / 4 / float64(k+1) / float64(k+1+n)
		}
		return sum
	}
	peak := func(volt float64) float64 { return volt * math.Sqrt2 }
	all := func(volt float64) complex128 {
		return y + complex(2*saturation*bessel(1, peak(volt)/volts)/peak(volt), 0)
	}
	z = func(volt float64) complex128 { return 1 / all(volt) }
	return z, func(volt float64) map[int]complex128 {
		out := map[int]complex128{}
		for n := 2; n <= 5; n++ {
			out[n] = complex(2*saturation*bessel(n, peak(volt)/volts)/peak(volt), 0) / all(volt)
		}
		return out
	}
}

func TestKinds(t *testing.T) {
	w := 2 * math.Pi * freqHz
	type law = func(float64) complex128
	fixed := func(z complex128) law { return func(float64) complex128 { return z } }
	cz, ch := ceramicAt(220e-9, 3)
	kz, kh := coreAt(0.1, 2)
	jz, jh := junctionAt(complex(0, w*220e-9))
	rz, rh := junctionAt(1e-4)
	heat := func(volt float64) complex128 { return complex(100*(1+volt*volt), 1) }
	for _, c := range []struct {
		name string
		z    law
		h    func(float64) map[int]complex128
		want []Kind
	}{
		{"film capacitor", fixed(complex(3, -723)), none, []Kind{Linear}},
		{"resistor", fixed(complex(820, -0.5)), none, []Kind{Linear}},
		{"air coil", fixed(complex(12, 628)), none, []Kind{Linear}},
		{"class-2 ceramic", cz, ch, []Kind{Ceramic}},
		{"coil on iron", kz, kh, []Kind{Core}},
		{"junction across a capacitor", jz, jh, []Kind{Junction}},
		{"junction across a resistor", rz, rh, []Kind{Junction}},
		{"lamp", heat, none, []Kind{Slow}},
	} {
		for seed := range uint64(40) {
			g := rig{rand.New(rand.NewPCG(seed, 7)), 2e-7, 5e-4, 1000}
			s, err := Of(g.points(9, c.z, c.h))
			if err != nil {
				t.Fatal(err)
			}
			if !slices.Contains(c.want, s.Kind) {
				t.Errorf("%s, seed %d: %s (%s): %v", c.name, seed, s.Kind, s.Confidence, s.Reasons)
				break
			}
			if (s.Kind == Linear) != (s.Onset.VoltRMS == 0) {
				t.Errorf("%s: onset %v of a %s part", c.name, s.Onset, s.Kind)
			}
		}
	}
}

// The interval of the value at level zero holds the truth in about 95 % of the
// cases, whatever the law and however much of the uncertainty is shared.
func TestValueAtLevelZeroIsCovered(t *testing.T) {
	cz, ch := ceramicAt(220e-9, 3)
	kz, kh := coreAt(0.1, 2)
	for _, c := range []struct {
		name  string
		z     func(float64) complex128
		h     func(float64) map[int]complex128
		truth float64
	}{
		{"constant", func(float64) complex128 { return complex(3, -1/(2*math.Pi*freqHz*220e-9)) }, none, 220e-9},
		{"square", cz, ch, 220e-9},
		{"straight", kz, kh, 0.1},
	} {
		for _, shared := range []float64{0, 5e-4} {
			const trials = 400
			inside := 0
			for seed := range uint64(trials) {
				g := rig{rand.New(rand.NewPCG(seed, 11)), 1e-6, shared, 1000}
				s, err := Of(g.points(9, c.z, c.h))
				if err != nil {
					t.Fatal(err)
				}
				if s.Main.Zero.Low <= c.truth && c.truth <= s.Main.Zero.High {
					inside++
				}
			}
			// Five standard deviations of a binomial count about 95 %, and four points
			// for a law that is picked from the data.
			if rate := float64(inside) / trials; rate < 0.95-5*math.Sqrt(0.95*0.05/trials)-0.04 {
				t.Errorf("%s, shared %g: %.1f %% of the intervals hold the truth", c.name, shared, 100*rate)
			} else {
				t.Logf("%s, shared %g: %.1f %%", c.name, shared, 100*rate)
			}
		}
	}
}

func TestOfTooLittle(t *testing.T) {
	g := rig{rand.New(rand.NewPCG(1, 1)), 1e-6, 0, 1000}
	one := g.point(0.1, complex(3, -723), 1e-3, nil)
	for name, points := range map[string][]Point{"nothing": nil, "one point": {one}, "one level": {one, one, one}} {
		if _, err := Of(points); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

// ExampleOf reads a ceramic at nine levels.
func ExampleOf() {
	z, h := ceramicAt(220e-9, 3)
	g := rig{rand.New(rand.NewPCG(1, 2)), 1e-7, 5e-4, 1000}
	s, _ := Of(g.points(9, z, h))
	fmt.Println(s.Kind, s.Confidence)
	fmt.Println(s.Main.Name, "at level zero:", uncertain.Format(s.Main.Zero.Value, s.Main.Zero.U, s.Main.Unit))
	fmt.Println("changes", s.Main.Law)
	// Output:
	// class-2 ceramic high
	// C at level zero: 219.96 nF ± 0.11 nF
	// changes with its square
}
