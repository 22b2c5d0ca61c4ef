package impedance_test

import (
	"math"
	"math/cmplx"
	"testing"

	"gonum.org/v1/gonum/mat"

	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/uncertain"
)

const refOhm = 100.0

// divider is the plainest jig: Z = R·u1/u2, with the two channels' phasors as
// joint inputs.
func divider(dst, x []float64) {
	z := refOhm * complex(x[0], x[1]) / complex(x[2], x[3])
	dst[0], dst[1], dst[2] = real(z), imag(z), 1000
}

// channels describes two phasors with noise of u on every axis.
func channels(u1, u2 complex128, noise, dof float64) *uncertain.Inputs {
	var in uncertain.Inputs
	cov := mat.NewSymDense(4, nil)
	for i := range 4 {
		cov.SetSym(i, i, noise*noise)
	}
	in.AddComplex("noise", []complex128{u1, u2}, cov, dof)
	return &in
}

func TestDividerReadsAsItShould(t *testing.T) {
	// 200 Ω at +30° is 173.205 + j100 Ω, 15.9155 mH at 1 kHz, Q = 1/√3.
	u2 := cmplx.Rect(0.25, -math.Pi/6)
	r := derive(t, channels(0.5, u2, 1e-6, 0), divider)
	near(t, "R", r.Series.R.Value, 173.205081, 1e-8)
	near(t, "X", r.Im.Value, 100, 1e-9)
	near(t, "Ls", r.Series.L.Value, 15.9154943e-3, 1e-8)
	near(t, "Q", r.Q.Value, 1/math.Sqrt(3), 1e-9)
}

// No current but noise: an open, with the modulus that it has at least.
func TestOpen(t *testing.T) {
	const noise = 1e-6
	for _, dof := range []float64{0, 4, 2} {
		for _, u2 := range []complex128{0.3e-6, complex(-1e-6, 1e-6), complex(0, -2e-6), 1e-9} {
			r := derive(t, channels(0.5, u2, noise, dof), divider)
			if r.State != impedance.Open {
				t.Errorf("%g dof, u2 = %v: state %s", dof, u2, r.State)
				continue
			}
			if r.Modulus.Low < 0.3*refOhm*0.5/(1e-6*10) || !math.IsInf(r.Modulus.High, 1) || !math.IsNaN(r.Modulus.Value) {
				t.Errorf("%g dof, u2 = %v: |Z| %+v", dof, u2, r.Modulus)
			}
			absent(t, "Re", r.Re)
			absent(t, "phase", r.Phase)
			absent(t, "Rs", r.Series.R)
			absent(t, "D", r.D)
			if r.Dominance.Kind != impedance.Undecided || r.Fitting.Circuit != impedance.ParallelCircuit {
				t.Errorf("dominant %q, fitting %q", r.Dominance.Kind, r.Fitting.Circuit)
			}
		}
	}
}

// The bounds of an open whose estimate is exactly nothing: |Y| is Rayleigh, and
// G given G ≥ 0 half normal.
func TestBoundsOfAnOpen(t *testing.T) {
	r := derive(t, channels(0.5, 0, 1e-6, 0), divider)
	if r.State != impedance.Open {
		t.Fatalf("state %s", r.State)
	}
	const uY = 1e-6 / 0.5 / refOhm
	rayleigh := math.Sqrt(-2*math.Log(0.05)) * uY
	onlyAbove(t, "|Z|", r.Modulus, 1/rayleigh, 0.03)
	onlyAbove(t, "Rp", r.Parallel.R, 1/(1.96*uY), 0.05)
	onlyBelow(t, "Cp", r.Parallel.C, 1.96*uY/(2*math.Pi*1000), 0.05)
	onlyAbove(t, "Lp", r.Parallel.L, 1/(2*math.Pi*1000*1.96*uY), 0.05)
	near(t, "u of G", r.Y.G.U, uY, 1e-6)
}

// No voltage but noise: a short, with the modulus that it has at most.
func TestShort(t *testing.T) {
	const noise = 1e-6
	for _, dof := range []float64{0, 4, 2} {
		for _, u1 := range []complex128{0, 0.3e-6, complex(-1e-6, 1e-6), complex(0, -2e-6)} {
			r := derive(t, channels(u1, 0.5, noise, dof), divider)
			if r.State != impedance.Short {
				t.Errorf("%g dof, u1 = %v: state %s", dof, u1, r.State)
				continue
			}
			if !(r.Modulus.High > 0 && r.Modulus.High < 30e-6*refOhm/0.5) || !math.IsInf(r.Modulus.Low, -1) || !math.IsNaN(r.Modulus.Value) {
				t.Errorf("%g dof, u1 = %v: |Z| %+v", dof, u1, r.Modulus)
			}
			inside(t, "Re", r.Re, 0)
			absent(t, "phase", r.Phase)
			absent(t, "Rp", r.Parallel.R)
			absent(t, "Cp", r.Parallel.C)
			absent(t, "Q", r.Q)
			if r.Fitting.Circuit != impedance.SeriesCircuit {
				t.Errorf("fitting %q", r.Fitting.Circuit)
			}
		}
	}
}

func TestBoundsOfAShort(t *testing.T) {
	r := derive(t, channels(0, 0.5, 1e-6, 0), divider)
	const uZ = 1e-6 / 0.5 * refOhm
	near(t, "|Z| high", r.Modulus.High, math.Sqrt(-2*math.Log(0.05))*uZ, 0.03)
	onlyBelow(t, "Rs", r.Series.R, 1.96*uZ, 0.05)
	onlyBelow(t, "Ls", r.Series.L, 1.96*uZ/(2*math.Pi*1000), 0.05)
	onlyAbove(t, "Cs", r.Series.C, 1/(2*math.Pi*1000*1.96*uZ), 0.05)
}

// Just outside of the 95 % region of zero there is a reading, in both planes.
// Its radius is 2.448 u (JCGM 102:2011, 6.5: √(−2 ln 0.05)).
func TestEdgeOfTheRegions(t *testing.T) {
	const noise = 1e-6
	for _, c := range []struct {
		radius      float64
		open, short impedance.State
	}{{2.3, impedance.Open, impedance.Short}, {2.6, impedance.OK, impedance.OK}, {10, impedance.OK, impedance.OK}} {
		small := cmplx.Rect(c.radius*noise, 0.7)
		if r := derive(t, channels(0.5, small, noise, 0), divider); r.State != c.open {
			t.Errorf("u2 at %g u: state %s, want %s", c.radius, r.State, c.open)
		}
		if r := derive(t, channels(small, 0.5, noise, 0), divider); r.State != c.short {
			t.Errorf("u1 at %g u: state %s, want %s", c.radius, r.State, c.short)
		}
	}
}

func TestExactShort(t *testing.T) {
	r := derive(t, measured(0, 0, 0, 1000, 0), plain)
	if r.State != impedance.Short || r.Modulus.High != 0 {
		t.Errorf("state %s, |Z| %+v", r.State, r.Modulus)
	}
}

// Trials that divide by exactly nothing are left out, the others serve.
func TestSpoiltTrialsAreLeftOut(t *testing.T) {
	r := derive(t, measured(complex(100, -100), 1, 1, 1000, 0.1), func(dst, x []float64) {
		plain(dst, x)
		if x[0] > 102 {
			dst[1] = math.Inf(1)
		}
	})
	if r.State != impedance.OK || !(r.Series.R.High <= 102) {
		t.Errorf("state %s, R %+v", r.State, r.Series.R)
	}
}

func TestVoidReading(t *testing.T) {
	r := impedance.Void(uncertain.NormalQuantity(1000, 0.1, 0))
	checkSane(t, r)
	if r.State != impedance.NoSignal || r.NonPassive() || r.Fitting.Circuit != impedance.NoCircuit {
		t.Errorf("%+v", r)
	}
	absent(t, "|Z|", r.Modulus)
}
