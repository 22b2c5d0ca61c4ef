package impedance_test

import (
	"math"
	"testing"

	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/uncertain"
)

// onlyAbove wants a lower bound and nothing else.
func onlyAbove(t *testing.T, what string, q uncertain.Quantity, low, tol float64) {
	t.Helper()
	if !math.IsNaN(q.Value) || !math.IsNaN(q.U) || !math.IsInf(q.High, 1) {
		t.Errorf("%s = %+v, want a lower bound alone", what, q)
	}
	near(t, what+" low", q.Low, low, tol)
}

// onlyBelow wants [0, high] without a value.
func onlyBelow(t *testing.T, what string, q uncertain.Quantity, high, tol float64) {
	t.Helper()
	if !math.IsNaN(q.Value) || !math.IsNaN(q.U) || q.Low != 0 {
		t.Errorf("%s = %+v, want an upper bound alone", what, q)
	}
	near(t, what+" high", q.High, high, tol)
}

// Bounds of a normal quantity that is not negative, in units of u, with the
// estimate at −1, 0 and +1 u. Below zero the 95 % point of what is left of the
// distribution, h with Φ(e−h) = 0.05 Φ(e), else e + 1.96.
var boundOf = map[float64]float64{-1: 1.4116, 0: 1.9600, 1: 2.9600}

// boundTol: the 95 % point of 1600 trials or more, three standard deviations:
// 3·√(0.05·0.95/1600)/0.103/1.41.
const boundTol = 0.11

// A capacitor without loss, with the noise of one record: D is below its bound
// and never negative, Q above its own, whatever the sign of the estimate.
func TestPerfectCapacitor(t *testing.T) {
	const x, u = -1000.0, 0.1
	for at, bound := range boundOf {
		r := derive(t, measured(complex(at*u, x), u, u, 1000, 0.01), plain)
		if r.State != impedance.OK || r.NonPassive() {
			t.Fatalf("at %g u: state %s, non-passive %v", at, r.State, r.NonPassive())
		}
		near(t, "D", r.D.Value, math.Max(at, 0)*u/-x, 1e-9)
		near(t, "Rs", r.Series.R.Value, math.Max(at, 0)*u, 1e-9)
		if r.D.Low != 0 || r.Series.R.Low != 0 {
			t.Errorf("at %g u: D from %g, R from %g", at, r.D.Low, r.Series.R.Low)
		}
		near(t, "D high", r.D.High, bound*u/-x, boundTol)
		near(t, "R high", r.Series.R.High, bound*u, boundTol)
		onlyAbove(t, "Q", r.Q, 1/r.D.High, 1e-12)
		onlyAbove(t, "Rp", r.Parallel.R, x*x/r.Series.R.High, 1e-3)
		near(t, "Re keeps its sign", r.Re.Value, at*u, 1e-9)
	}
}

// Where the loss is established, nothing is cut.
func TestLossyCapacitor(t *testing.T) {
	r := derive(t, measured(complex(1, -1000), 0.1, 0.1, 1000, 0.01), plain)
	near(t, "Q", r.Q.Value, 1000, 1e-9)
	halfWidth(t, "D", r.D, 1.96*1e-4, endTol)
	near(t, "Q low", r.Q.Low, 1/r.D.High, 1e-12)
	near(t, "Q high", r.Q.High, 1/r.D.Low, 1e-12)
	inside(t, "Rp", r.Parallel.R, 1e6)
	near(t, "Rp high", r.Parallel.R.High, 1e6/(1-0.196), 0.02)
}

// A resistor whose reactance is lost in the noise is neither capacitor nor
// inductor, and bounds on either side say how far it may be one.
func TestResistorWithUnknownReactance(t *testing.T) {
	const r0, u, f = 100.0, 0.01, 1000.0
	omega := 2 * math.Pi * f
	for at := range boundOf {
		r := derive(t, measured(complex(r0, at*u), u, u, f, 0.01), plain)
		inductive, capacitive := boundOf[at]*u, boundOf[-at]*u
		onlyBelow(t, "Ls", r.Series.L, inductive/omega, boundTol)
		onlyAbove(t, "Cs", r.Series.C, 1/(omega*capacitive), boundTol)
		onlyBelow(t, "Cp", r.Parallel.C, capacitive/(omega*r0*r0), boundTol)
		onlyAbove(t, "Lp", r.Parallel.L, r0*r0/(omega*inductive), boundTol)
		near(t, "Q", r.Q.Value, math.Abs(at)*u/r0, 1e-6)
		if r.Q.Low != 0 || r.Q.High < 1.9*u/r0 || r.Q.High > 3.1*u/r0 {
			t.Errorf("at %g u: Q %+v", at, r.Q)
		}
		onlyAbove(t, "D", r.D, 1/r.Q.High, 1e-12)
		near(t, "u of Q", r.Q.U, u/r0, 1e-3)
		if r.Dominance.Kind != impedance.Resistor {
			t.Errorf("dominant %q", r.Dominance.Kind)
		}
	}
}

// Neither sign alone is established but a direction is: the noise lies across it.
func TestNeitherSignEstablished(t *testing.T) {
	var in uncertain.Inputs
	in.Add("along", 1, 0.1)
	in.Add("across", 0, 1)
	r := derive(t, &in, func(dst, x []float64) { dst[0], dst[1], dst[2] = x[0]+x[1], x[0]-x[1], 1000 })
	if r.State != impedance.OK {
		t.Fatalf("state %s", r.State)
	}
	absent(t, "Q", r.Q)
	absent(t, "D", r.D)
	if r.Dominance.Kind != impedance.Undecided {
		t.Errorf("dominant %q", r.Dominance.Kind)
	}
}

func TestNegativeResistance(t *testing.T) {
	for _, c := range []struct {
		at   float64 // Re Z in units of its u
		want bool
	}{{3, false}, {0, false}, {-2.5, false}, {-4, true}} {
		r := derive(t, measured(complex(c.at*0.1, -1000), 0.1, 0.1, 1000, 0.01), plain)
		if r.NonPassive() != c.want {
			t.Errorf("at %g u: non-passive %v, probability %g", c.at, r.NonPassive(), r.Passivity)
		}
		near(t, "Re", r.Re.Value, c.at*0.1, 1e-9)
		if c.want {
			absent(t, "Rs", r.Series.R)
			absent(t, "Rp", r.Parallel.R)
			absent(t, "D", r.D)
			absent(t, "Q", r.Q)
		}
	}
}

// The reading of an exactly known ideal part holds no infinity and no NaN.
func TestExactIdealParts(t *testing.T) {
	capacitor := derive(t, measured(complex(0, -1000), 0, 0, 1000, 0), plain)
	if q := capacitor.D; q != (uncertain.Quantity{}) {
		t.Errorf("D = %+v, want an exact 0", q)
	}
	absent(t, "Q", capacitor.Q)
	if capacitor.Dominance.Kind != impedance.Capacitor || capacitor.Series.C.Low != capacitor.Series.C.High {
		t.Errorf("%+v", capacitor)
	}
	resistor := derive(t, measured(complex(1000, 0), 0, 0, 1000, 0), plain)
	absent(t, "D", resistor.D)
	absent(t, "Cs", resistor.Series.C)
	if resistor.Q.Value != 0 || resistor.Dominance.Kind != impedance.Resistor {
		t.Errorf("Q %+v, dominant %q", resistor.Q, resistor.Dominance.Kind)
	}
}

// A phase near ±180° does not jump within its interval.
func TestPhaseAcrossTheCut(t *testing.T) {
	for _, im := range []float64{0.02, -0.02} {
		r := derive(t, measured(complex(-100, im), 0.1, 0.1, 1000, 0.01), plain)
		near(t, "u", r.Phase.U, 1e-3, 1e-3)
		halfWidth(t, "phase", r.Phase, 1.96e-3, endTol)
	}
}

// A half-degree error of phase moves the series capacitance of a part that is
// mostly resistive by percents, and u of C covers that.
func TestPhaseErrorOfAMostlyResistiveCapacitor(t *testing.T) {
	const f, half = 10e3, 0.5 * math.Pi / 180
	omega := 2 * math.Pi * f
	x := omega*20e-9 - 1/(omega*1e-3)
	var in uncertain.Inputs
	in.Add("phase", 0, half)
	in.Add("gain", 1, 1e-4)
	r := derive(t, &in, func(dst, v []float64) {
		sin, cos := math.Sincos(v[0])
		dst[0], dst[1], dst[2] = v[1]*(0.05*cos-x*sin), v[1]*(0.05*sin+x*cos), f
	})
	near(t, "Cs in µF", r.Series.C.Value*1e6, 1085.725, 1e-6)
	near(t, "u of Cs in µF", r.Series.C.U*1e6, 1119-1085.7, 0.05)
	inside(t, "Cs", r.Series.C, 1119e-6)
	if r.Hint != impedance.LowerFrequency {
		t.Errorf("hint %q", r.Hint)
	}
}
