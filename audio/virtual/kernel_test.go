package virtual

import (
	"math"
	"testing"
)

// A tone played through the kernel is the tone, up to 0.4 of the rate.
func TestKernelReconstructs(t *testing.T) {
	k := newKernel()
	worst := 0.0
	for _, f := range []float64{0, 0.001, 0.05, 0.123, 0.25, 0.317, 0.39, 0.4} {
		for phase := 0.0; phase < 6.3; phase += 0.7 {
			var w [window]float64
			for i := range w {
				w[i] = math.Cos(2*math.Pi*f*float64(i-half+1) + phase)
			}
			var c coeffs
			k.interval(&c, &w)
			for tau := 0.0; tau <= 1; tau += 0.0625 {
				want := math.Cos(2*math.Pi*f*tau + phase)
				if e := math.Abs(c.at(2*tau-1) - want); e > worst {
					worst = e
				}
			}
		}
	}
	t.Logf("worst error %.2g", worst)
	if worst > kernelTolerance {
		t.Errorf("a tone is off by %g, want at most %g", worst, kernelTolerance)
	}
}

// kernelTolerance is the ripple by Kaiser's estimate, 2e-10 at 195 dB, with its
// images, and the part of a tone that 14 polynomials leave: about 1e-10.
const kernelTolerance = 2e-9
