package lockin

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
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

// humSignal makes one channel: a tone, mains lines that drift, offset and white noise.
func humSignal(n int, rate, tone, mains, drift, humAmp, sigma float64, orders int, seed uint64) ([]float64, complex128) {
	rng := rand.New(rand.NewPCG(seed, 1))
	x := make([]float64, n)
	a := cmplx.Rect(1, 0.7)
	phases := make([]float64, orders+1)
	for h := range phases {
		phases[h] = 2 * math.Pi * rng.Float64()
	}
	for i := range x {
		t := (float64(i) - float64(n-1)/2) / rate
		x[i] = 0.02 + real(a*cmplx.Exp(complex(0, 2*math.Pi*tone*t)))
		for h := 1; h <= orders; h++ {
			x[i] += humAmp * math.Cos(2*math.Pi*float64(h)*(mains*t+drift/2*t*t)+phases[h])
		}
		x[i] += sigma * rng.NormFloat64()
	}
	return x, a
}

func TestJointFitIsUnbiasedByDriftingMains(t *testing.T) {
	for _, tc := range []struct{ tone, mains float64 }{{120, 50.13}, {1030, 49.84}, {100, 60.2}, {1030, 59.8}} {
		x, want := humSignal(24000, 48000, tc.tone, tc.mains, 0.005, 0.1, 0, 9, 3)
		m := jointModel{rateHz: 48000, degree: 1, mainsHz: math.Round(tc.mains/10) * 10, freeEps: true, freeMains: true,
			eps: []float64{0}, epsBound: []float64{1e-3}, mainsCentre: math.Round(tc.mains/10) * 10, mainsBound: 1, chirpMax: 0.1}
		m.lines = append(m.lines, line{base: tc.tone, order: 1})
		for h := 1; h <= 9; h++ {
			m.lines = append(m.lines, line{mains: true, base: float64(h), tone: -1, order: h})
		}
		f, err := fitJoint([][]float64{x}, m, fineFit)
		if err != nil {
			t.Fatal(err)
		}
		bias := cmplx.Abs(f.amp[0][0] - want)
		t.Logf("tone %g mains %g: bias %.2g in %d steps, mains %.6f chirp %.5f, inflation %.4f", tc.tone, tc.mains, bias, f.steps, f.model.mainsHz, f.model.chirp, f.shrinkage[0])
		if bias > 1e-6 {
			t.Errorf("tone %g Hz under mains of %g Hz: bias %g, want below 1e-6", tc.tone, tc.mains, bias)
		}
	}
}
