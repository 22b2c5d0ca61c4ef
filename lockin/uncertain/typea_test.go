package uncertain

import (
	"errors"
	"math"
	"math/cmplx"
	"testing"

	"gonum.org/v1/gonum/mat"
)

const degree = math.Pi / 180

// TestMean: the voltage of JCGM 100:2008, Table H.2.
func TestMean(t *testing.T) {
	mean, u, dof, err := Mean(h2Observations[0])
	if err != nil || dof != 4 {
		t.Fatal(mean, u, dof, err)
	}
	near(t, "mean", mean, 4.999, 1e-15)
	near(t, "u", u, 0.00320936130717624, h2DataTol)
}

// TestMeanOfLargeValues: close observations of a large value keep their spread.
func TestMeanOfLargeValues(t *testing.T) {
	mean, u, _, err := Mean([]float64{1e9 + 1, 1e9 + 2, 1e9 + 3})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mean", mean, 1e9+2, 0)
	near(t, "u", u, math.Sqrt(1.0/3), 1e-15)
}

// TestPhasesAcrossTheCut: 0.5∠±179.9° averages to 0.5∠180°, spread 0.1°, not to
// 0 with a spread of 180°.
func TestPhasesAcrossTheCut(t *testing.T) {
	z := []complex128{cmplx.Rect(0.5, 179.9*degree), cmplx.Rect(0.5, -179.9*degree)}
	mean, cov, dof, err := MeanComplex(z)
	if err != nil || dof != 1 {
		t.Fatal(dof, err)
	}
	modulus, uModulus, phase, uPhase := Polar(mean, cov)
	near(t, "modulus", modulus, 0.5*math.Cos(0.1*degree), 1e-12)
	within(t, "u of the modulus", uModulus, 0, 1e-12)
	within(t, "phase", math.Abs(phase), math.Pi, 1e-12)
	near(t, "u of the phase", uPhase, math.Tan(0.1*degree), 1e-9) // s = 0.1°·√2, mean of two

}

// TestPolar against propagation through modulus and phase.
func TestPolar(t *testing.T) {
	cov := mat.NewSymDense(2, []float64{4e-4, -1e-4, -1e-4, 9e-4})
	for _, z := range []complex128{3 + 4i, -3 + 1i, -2i, 5} {
		var in Inputs
		in.AddComplex("z", []complex128{z}, cov, 0)
		r := mustPropagate(t, &in, 2, func(dst, x []float64) {
			w := complex(x[0], x[1])
			dst[0], dst[1] = cmplx.Abs(w), cmplx.Phase(w/z) // from z on: no cut
		})
		modulus, uModulus, phase, uPhase := Polar(z, cov)
		near(t, "modulus", modulus, r.Y[0], 1e-15)
		near(t, "u of the modulus", uModulus, r.U(0), 1e-8)
		within(t, "phase", phase, cmplx.Phase(z), 1e-15)
		near(t, "u of the phase", uPhase, r.U(1), 1e-8)
	}
	modulus, u, phase, uPhase := Polar(0, cov)
	if modulus != 0 || u != 0.03 || !math.IsNaN(phase) || !math.IsNaN(uPhase) {
		t.Errorf("at zero: %g, %g, %g, %g", modulus, u, phase, uPhase)
	}
}

func TestTooFewRepeats(t *testing.T) {
	for name, run := range map[string]func() error{
		"none":        func() error { _, _, _, err := Mean(nil); return err },
		"one":         func() error { _, _, _, err := Mean([]float64{1}); return err },
		"no columns":  func() error { _, _, _, err := MeanCov(nil); return err },
		"one complex": func() error { _, _, _, err := MeanComplex([]complex128{1i}); return err },
	} {
		if err := run(); !errors.Is(err, ErrTooFew) {
			t.Errorf("%s: error %v, want ErrTooFew", name, err)
		}
	}
	for name, run := range map[string]func() error{
		"NaN":     func() error { _, _, _, err := Mean([]float64{1, nan}); return err },
		"unequal": func() error { _, _, _, err := MeanCov([][]float64{{1, 2}, {1, 2, 3}}); return err },
	} {
		if err := run(); err == nil || errors.Is(err, ErrTooFew) {
			t.Errorf("%s: error %v", name, err)
		}
	}
}
