package impedance_test

import (
	"errors"
	"math"
	"testing"

	"example.org/wheatear/lockin/impedance"
)

// The element drawn is the one that the reading shows, with the same value and,
// within what 10,000 draws tell of the ends of an interval (3 %), the same u.
func TestDrawAgreesWithDerive(t *testing.T) {
	for _, z := range []complex128{complex(5, -1600), complex(12, 63), complex(1000, 2), complex(900, -700)} {
		in := measured(z, 0.5, 0.5, 1000, 0.01)
		r := derive(t, in, plain)
		capacitive := imag(z) < 0
		for _, circuit := range []impedance.Circuit{impedance.SeriesCircuit, impedance.ParallelCircuit} {
			eq := r.Series
			if circuit == impedance.ParallelCircuit {
				eq = r.Parallel
			}
			for _, kind := range []impedance.Kind{impedance.Resistor, impedance.Capacitor, impedance.Inductor} {
				want := eq.R
				switch kind {
				case impedance.Capacitor:
					want = eq.C
				case impedance.Inductor:
					want = eq.L
				}
				d, err := impedance.Draw(in, plain, impedance.Config{}, impedance.Element{Kind: kind, Circuit: circuit})
				if err != nil {
					t.Fatal(err)
				}
				if kind == impedance.Capacitor && !capacitive && d.Value > 0 || kind == impedance.Inductor && capacitive && d.Value > 0 {
					t.Errorf("%v: %s of %g has the wrong sign", z, kind, d.Value)
				}
				if !math.IsNaN(want.Value) && want.U < 0.1*want.Value {
					near(t, "value", d.Value, want.Value, 1e-9)
					near(t, "u", d.U, want.U, 0.05)
				}
			}
		}
	}
}

func TestDrawOfNothing(t *testing.T) {
	in := measured(complex(5, -1600), 0.5, 0.5, 1000, 0.01)
	if _, err := impedance.Draw(in, plain, impedance.Config{}, impedance.Element{}); !errors.Is(err, impedance.ErrModel) {
		t.Errorf("an undecided element: %v", err)
	}
	if _, err := impedance.Draw(nil, plain, impedance.Config{}, impedance.Element{Kind: impedance.Resistor}); !errors.Is(err, impedance.ErrModel) {
		t.Errorf("no inputs: %v", err)
	}
	if _, err := impedance.Draw(in, plain, impedance.Config{Trials: 3}, impedance.Element{Kind: impedance.Resistor}); err == nil {
		t.Error("three trials are accepted")
	}
	nan := func(dst, _ []float64) { dst[0], dst[1], dst[2] = math.NaN(), math.NaN(), 1 }
	if _, err := impedance.Draw(in, nan, impedance.Config{}, impedance.Element{Kind: impedance.Resistor}); !errors.Is(err, impedance.ErrModel) {
		t.Errorf("nothing but NaN: %v", err)
	}
	exact := measured(complex(100, 0), 0, 0, 1000, 0)
	d, err := impedance.Draw(exact, plain, impedance.Config{}, impedance.Element{Kind: impedance.Capacitor})
	if err != nil || !math.IsInf(d.Value, 0) {
		t.Errorf("a resistor without reactance has the capacitance %g, %v", d.Value, err)
	}
}
