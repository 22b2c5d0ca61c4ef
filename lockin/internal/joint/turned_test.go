package joint

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"
)

func TestTurnedMomentsAgreeWithSums(t *testing.T) {
	for _, n := range []int{64, 1001} {
		for _, skip := range []int{n % 2, 20 + n%2} {
			for _, theta := range []float64{0, 1e-7, 1e-4, 3e-3, 0.05, 0.7, 2.9} {
				var want [4]float64
				for i := range n {
					k := float64(i) - float64(n-1)/2
					if math.Abs(k) < float64(skip)/2 || k == 0 {
						continue
					}
					s, c := math.Sincos(k * theta)
					sign := -math.Copysign(1, k)
					want[0] += sign * s
					want[1] += sign * k * c
					want[2] += sign * k * k * s
					want[3] += sign * k * k * k * c
				}
				t0, t1, t2, t3 := turnedMoments(n, skip, theta)
				fn := float64(n)
				for i, got := range []float64{t0, t1, t2, t3} {
					if math.Abs(got-want[i]) > 1e-8*math.Pow(fn, float64(i+1)) {
						t.Errorf("n=%d skip=%d theta=%g: t%d = %.12g, want %.12g", n, skip, theta, i, got, want[i])
					}
				}
			}
		}
	}
}

// turnedModel is a turned tone of 100 Hz with its third harmonic on lines of the mains.
func turnedModel(rate float64, mains float64, skip int) Model {
	m := Model{RateHz: rate, Degree: 2, MainsHz: mains, FreeEps: true, FreeMains: true, Eps: []float64{0}, EpsBound: []float64{1e-3},
		MainsCentre: 50, MainsBound: 0.5, ChirpMax: 0.1, Skip: skip}
	m.Lines = []Line{{Base: 100, Order: 1, Turned: true}, {Base: 300, Order: 3, Turned: true}}
	for k := 1; k <= 7; k++ {
		m.Lines = append(m.Lines, Line{Mains: true, Base: float64(k), Tone: -1, Order: k})
	}
	return m
}

// A turned tone on a line of the mains as strong as itself comes out exactly, with the
// variance that the fit says.
func TestTurnedToneIsFreeOfTheLineUnderIt(t *testing.T) {
	const rate, n, skip, sigma = 8000.0, 6000, 640, 1e-4
	tone, third, line := cmplx.Rect(0.2, 0.4), cmplx.Rect(1e-3, 2), cmplx.Rect(0.15, -1)
	make := func(rng *rand.Rand, sigma float64) []float64 {
		x := make([]float64, n)
		for i := range x {
			s := (float64(i) - float64(n-1)/2) / rate
			turn := cmplx.Exp(complex(0, 2*math.Pi*100.004*s))
			x[i] = 0.01 + Sign(s)*real(tone*turn+third*turn*turn*turn) + sigma*rng.NormFloat64()
			for k := 1; k <= 7; k++ {
				x[i] += real(line * cmplx.Rect(1, float64(k)*(2*math.Pi*(50.03*s+0.002*s*s)+1)))
			}
		}
		return x
	}
	rng := rand.New(rand.NewPCG(5, 6))
	m := turnedModel(rate, 50.02, skip)
	f, err := Solve([][]float64{make(rng, 0)}, m, Fine)
	if err != nil {
		t.Fatal(err)
	}
	if off := cmplx.Abs(f.Amp[0][0]/tone - 1); off > 1e-6 || !f.converged {
		t.Errorf("without noise off by %.2g after %d steps", off, f.steps)
	}
	const trials = 100
	sum := 0.0
	for range trials {
		f, err = Solve([][]float64{make(rng, sigma)}, m, Fine)
		if err != nil {
			t.Fatal(err)
		}
		d := f.Amp[0][0] - tone
		sum += (real(d)*real(d) + imag(d)*imag(d)) / trials
	}
	lone := 4 * sigma * sigma / float64(f.Used())
	want := f.Shrinkage[0] + f.Pull[0][0]/2
	t.Logf("variance %.3f of that of a lone tone; the fit says %.3f + %.3f/2", sum/lone, f.Shrinkage[0], f.Pull[0][0])
	if r := sum / lone / want; r < 0.7 || r > 1.4 {
		t.Errorf("variance %.2f times what the fit says", r)
	}
	rest := make(rng, 0)
	model := append([]float64(nil), rest...)
	clear(model)
	f, _ = Solve([][]float64{rest}, m, Fine)
	f.AddTo(model, 0, 0)
	for i := range rest {
		if math.Abs(rest[i]-model[i]) > 3e-4 {
			t.Fatalf("at frame %d the model is %g, the record %g", i, model[i], rest[i])
		}
	}
}
