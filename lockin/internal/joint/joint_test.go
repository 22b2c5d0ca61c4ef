package joint

import (
	"example.org/wheatear/lockin/internal/testkit"
	"math"
	"math/cmplx"
	"testing"
)

func TestMomentsAgreeWithSums(t *testing.T) {
	for _, n := range []int{7, 64, 1001} {
		for _, theta := range []float64{0, 1e-7, 1e-4, 3e-3, 0.05, 0.7, 2.9} {
			var w0, w1, w2 float64
			for i := 0; i < n; i++ {
				k := float64(i) - float64(n-1)/2
				s, c := math.Sincos(k * theta)
				w0 += c
				w1 += k * s
				w2 += k * k * c
			}
			s0, s1, s2 := moments(n, theta)
			fn := float64(n)
			for i, pair := range [][3]float64{{s0, w0, fn}, {s1, w1, fn * fn}, {s2, w2, fn * fn * fn}} {
				if math.Abs(pair[0]-pair[1]) > 1e-8*pair[2] {
					t.Errorf("n=%d theta=%g: s%d = %.12g, want %.12g", n, theta, i, pair[0], pair[1])
				}
			}
		}
	}
}

func TestJointFitIsUnbiasedByDriftingMains(t *testing.T) {
	for _, tc := range []struct{ tone, mains float64 }{{120, 50.13}, {1030, 49.84}, {100, 60.2}, {1030, 59.8}} {
		x, want := testkit.HumSignal(24000, 48000, tc.tone, tc.mains, 0.005, 0.1, 0, 9, 3)
		m := Model{RateHz: 48000, Degree: 1, MainsHz: math.Round(tc.mains/10) * 10, FreeEps: true, FreeMains: true,
			Eps: []float64{0}, EpsBound: []float64{1e-3}, MainsCentre: math.Round(tc.mains/10) * 10, MainsBound: 1, ChirpMax: 0.1}
		m.Lines = append(m.Lines, Line{Base: tc.tone, Order: 1})
		for h := 1; h <= 9; h++ {
			m.Lines = append(m.Lines, Line{Mains: true, Base: float64(h), Tone: -1, Order: h})
		}
		f, err := Solve([][]float64{x}, m, Fine)
		if err != nil {
			t.Fatal(err)
		}
		bias := cmplx.Abs(f.Amp[0][0] - want)
		t.Logf("tone %g mains %g: bias %.2g in %d steps, mains %.6f chirp %.5f, inflation %.4f", tc.tone, tc.mains, bias, f.steps, f.Model.MainsHz, f.Model.chirp, f.Shrinkage[0])
		if bias > 1e-6 {
			t.Errorf("tone %g Hz under mains of %g Hz: bias %g, want below 1e-6", tc.tone, tc.mains, bias)
		}
	}
}
