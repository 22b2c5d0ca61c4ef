package impedance_test

import (
	"math"
	"testing"

	"example.org/wheatear/lockin/impedance"
)

// Both sides of the 45 degree line, and the line itself.
func TestKindAtTheLine(t *testing.T) {
	for _, c := range []struct {
		q    float64
		plus impedance.Kind
		less impedance.Kind
	}{
		{1 - 1e-9, impedance.Resistor, impedance.Resistor},
		{1, impedance.Inductor, impedance.Capacitor},
		{1 + 1e-9, impedance.Inductor, impedance.Capacitor},
	} {
		if got := impedance.KindOf(complex(1000, 1000*c.q)); got != c.plus {
			t.Errorf("X = %v R: %q, want %q", c.q, got, c.plus)
		}
		if got := impedance.KindOf(complex(1000, -1000*c.q)); got != c.less {
			t.Errorf("X = −%v R: %q, want %q", c.q, got, c.less)
		}
		// The same through a whole reading that knows enough to tell.
		r := derive(t, measured(complex(1000, 1000*c.q), 1e-9, 1e-9, 1000, 1e-6), plain)
		if c.q != 1 && r.Dominance.Kind != c.plus {
			t.Errorf("Q = %v: %+v", c.q, r.Dominance)
		}
		if c.q == 1 && r.Dominance.Kind != impedance.Undecided {
			t.Errorf("Q = 1 with noise: %+v", r.Dominance)
		}
		near(t, "Q", r.Q.Value, c.q, 1e-14)
	}
	if impedance.KindOf(0) != impedance.Resistor || impedance.KindOf(complex(1, math.NaN())) != impedance.Resistor {
		t.Error("nothing at all must not be reactive")
	}
}

// The probability of a kind is that of a normal distance from the line.
func TestConfidenceOfDominance(t *testing.T) {
	const u = 1.0
	for _, c := range []struct {
		z    complex128
		kind impedance.Kind
		most impedance.Kind
		p    float64
	}{
		{complex(100, 101.4142), impedance.Undecided, impedance.Inductor, 0.8413},  // 1 u beyond the line
		{complex(100, -102.8284), impedance.Capacitor, impedance.Capacitor, 0.977}, // 2 u
		{complex(100, -100), impedance.Undecided, "", 0.5},
		{complex(100, 50), impedance.Resistor, impedance.Resistor, 1},
	} {
		r := derive(t, measured(c.z, u, u, 1000, 0.01), plain)
		d := r.Dominance
		const tol = 0.015 // three standard deviations of a share of 10000
		if d.Kind != c.kind || (c.most != "" && d.Likeliest != c.most) || math.Abs(d.Confidence-c.p) > tol {
			t.Errorf("%v: %+v, want %q (%q, %g)", c.z, d, c.kind, c.most, c.p)
		}
	}
}

func TestFitting(t *testing.T) {
	const f = 1000
	omega := 2 * math.Pi * f
	for _, c := range []struct {
		name string
		z    complex128
		u    float64
		want impedance.Fitting
		hint impedance.Hint
	}{
		{"film capacitor", complex(0.1, -1591), 1, impedance.Fitting{Circuit: impedance.EitherEquivalent, Reason: impedance.ReasonAgree}, ""},
		{"lossy capacitor", complex(300, -1591), 0.1, impedance.Fitting{Circuit: impedance.EitherEquivalent, Reason: impedance.ReasonBetween}, ""},
		{"large electrolytic", complex(0.05, -0.159), 1e-5, impedance.Fitting{Circuit: impedance.SeriesCircuit, Reason: impedance.ReasonLowModulus}, ""},
		{"large electrolytic, too fast", complex(0.05, -0.015), 1e-5,
			impedance.Fitting{Circuit: impedance.SeriesCircuit, Reason: impedance.ReasonLowModulus}, impedance.LowerFrequency},
		{"small leaky capacitor", 1 / complex(1e-6, 2e-6), 1e-3 * 4e5, impedance.Fitting{Circuit: impedance.ParallelCircuit, Reason: impedance.ReasonHighModulus}, ""},
		{"small inductor in thick wire", complex(0.5, omega*20e-6), 1e-4,
			impedance.Fitting{Circuit: impedance.SeriesCircuit, Reason: impedance.ReasonInSeries}, impedance.HigherFrequency},
		{"resistor with stray capacitance", 1 / complex(1e-5, 2e-7), 1, impedance.Fitting{Circuit: impedance.ParallelCircuit, Reason: impedance.ReasonAcross},
			impedance.HigherFrequency},
		{"resistor", complex(1000, 0.01), 0.1, impedance.Fitting{Circuit: impedance.EitherEquivalent, Reason: impedance.ReasonAgree}, ""},
		{"damped coil of many turns", 1 / complex(1e-5, -2e-6), 1,
			impedance.Fitting{Circuit: impedance.ParallelCircuit, Reason: impedance.ReasonHighModulus}, impedance.LowerFrequency},
	} {
		r := derive(t, measured(c.z, c.u, c.u, f, 0.001), plain)
		if r.Fitting != c.want || r.Hint != c.hint {
			t.Errorf("%s: %+v, hint %q; want %+v, %q", c.name, r.Fitting, r.Hint, c.want, c.hint)
		}
	}
}

// The limits are habits, and can be changed.
func TestFittingLimitsCanBeChanged(t *testing.T) {
	in := measured(complex(300, -1591), 0.1, 0.1, 1000, 0.001)
	for _, c := range []struct {
		cfg  impedance.Config
		want impedance.Circuit
	}{
		{impedance.Config{}, impedance.EitherEquivalent},
		{impedance.Config{SeriesBelowOhm: 2000}, impedance.SeriesCircuit},
		{impedance.Config{ParallelAboveOhm: 1000}, impedance.ParallelCircuit},
	} {
		r, err := impedance.Derive(in, plain, c.cfg)
		if err != nil || r.Fitting.Circuit != c.want {
			t.Errorf("%+v: %+v, %v", c.cfg, r.Fitting, err)
		}
	}
}
