package impedance_test

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/uncertain"
)

// loaded is a jig with something across the part that is known to be about nothing, or
// with something in series: u in siemens or ohm.
func loaded(seen complex128, series bool, u [2]float64) (*uncertain.Inputs, uncertain.Func) {
	var in uncertain.Inputs
	in.Add("re", 0, u[0])
	in.Add("im", 0, u[1])
	return &in, func(dst, x []float64) {
		z := 1 / (seen - complex(x[0], x[1]))
		if series {
			z = seen - complex(x[0], x[1])
		}
		dst[0], dst[1], dst[2] = real(z), imag(z), 1000
	}
}

// Capacitors with hardly any loss and inputs that nobody declared, on 1 kΩ (25 µS and
// 1.3 µS of uncertainty, k = 1), and coils with leads of 17 Ω: the intervals of every figure
// contain the truth, and the estimate.
func TestIntervalsFarFromTheReference(t *testing.T) {
	const refOhm, trials = 1000, 200
	for _, c := range []struct {
		name   string
		z      complex128
		series bool
		u      [2]float64
	}{
		{"capacitor of 20 kΩ", complex(20, -20e3), false, [2]float64{25e-6, 1.3e-6}},
		{"capacitor of 60 kΩ", complex(60, -60e3), false, [2]float64{25e-6, 1.3e-6}},
		{"capacitor of 200 kΩ", complex(200, -200e3), false, [2]float64{25e-6, 1.3e-6}},
		{"coil of 8 Ω", complex(0.4, 8), true, [2]float64{17, 1}},
		{"coil of 40 Ω", complex(2, 40), true, [2]float64{17, 1}},
		{"resistor of 30 kΩ", 30e3, false, [2]float64{25e-6, 1.3e-6}},
	} {
		holding := map[string]int{}
		for n := range trials {
			rng := rand.New(rand.NewPCG(uint64(n), 5))
			off := complex(c.u[0]*rng.NormFloat64(), c.u[1]*rng.NormFloat64())
			seen := 1/c.z + off
			if c.series {
				seen = c.z + off
			}
			in, f := loaded(seen, c.series, c.u)
			r, err := impedance.Derive(in, f, impedance.Config{Trials: 1000, ReferenceOhm: refOhm})
			if err != nil {
				t.Fatal(err)
			}
			for name, q := range map[string]uncertain.Quantity{"Re": r.Re, "Im": r.Im, "|Z|": r.Modulus, "phase": r.Phase, "D": r.D, "Rs": r.Series.R, "Rp": r.Parallel.R, "Cs": r.Series.C, "Ls": r.Series.L, "Cp": r.Parallel.C} {
				if q.Value < q.Low || q.Value > q.High {
					t.Errorf("%s, %d: the estimate of %s lies outside its interval: %+v", c.name, n, name, q)
				}
			}
			for name, held := range map[string]struct {
				q     uncertain.Quantity
				truth float64
			}{"Re": {r.Re, real(c.z)}, "Im": {r.Im, imag(c.z)}, "|Z|": {r.Modulus, cmplx.Abs(c.z)}, "phase": {r.Phase, cmplx.Phase(c.z)}} {
				if held.q.IsAbsent() || held.q.Low <= held.truth && held.truth <= held.q.High {
					holding[name]++
				}
			}
		}
		for name, n := range holding {
			if n < 178 { // 93 % of 200, less two standard deviations
				t.Errorf("%s: %s contains the truth in %d of %d", c.name, name, n, trials)
			}
		}
	}
}

// Nothing within a decade of the reference is called an open or a short, however little
// is known; the same far from it is.
func TestNoOpenNearTheReference(t *testing.T) {
	in, f := loaded(1e-3, false, [2]float64{1e-3, 1e-3})
	for _, c := range []struct {
		refOhm float64
		want   impedance.State
	}{{1000, impedance.OK}, {10, impedance.Open}, {0, impedance.Open}} {
		r, err := impedance.Derive(in, f, impedance.Config{ReferenceOhm: c.refOhm})
		if err != nil {
			t.Fatal(err)
		}
		if r.State != c.want || !math.IsInf(r.Modulus.High, 1) || !(r.Modulus.Low > 0) {
			t.Errorf("reference %g: state %s, |Z| %+v, want %s and no upper end", c.refOhm, r.State, r.Modulus, c.want)
		}
	}
}

// A reactance of unknown sign bounds C and L alike by how well it is known: an estimate
// near one end of its interval leaves the other kind no closer to nothing.
func TestBoundsOfUnknownSign(t *testing.T) {
	r := derive(t, measured(complex(60e3, 20e3), 10e3, 10e3, 1000, 0.01), plain)
	if !(r.Im.Low < 0 && r.Im.High > 0) {
		t.Fatalf("Im Z %v", r.Im)
	}
	half := (r.Im.High - r.Im.Low) / 2
	if least := 1 / (2 * math.Pi * 1000 * half); r.Series.C.Low > 1.01*least {
		t.Errorf("Cs from %g F, though |X| up to %g ohm is within its reach (%g F)", r.Series.C.Low, half, least)
	}
}
