package lockin

import (
	"math"
	"testing"

	"example.org/wheatear/lockin/internal/testkit"
	"pgregory.net/rapid"
)

// Elementary: Γ(n−½)/(4√π Γ(n)τ) and the regularised gamma function, recomputed.
func TestLowPassFigures(t *testing.T) {
	var rows []struct {
		Poles     int     `json:"poles"`
		ENBW      float64 `json:"enbw_tau"`
		F3dB      float64 `json:"f3db_tau"`
		Settle63  float64 `json:"settle_63"`
		Settle90  float64 `json:"settle_90"`
		Settle99  float64 `json:"settle_99"`
		Settle999 float64 `json:"settle_999"`
		Settle4   float64 `json:"settle_9999"`
		Slope     float64 `json:"attenuation_slope_db_oct"`
	}
	testkit.ReadJSON(t, "lowpass.json", &rows)
	if len(rows) != 8 {
		t.Fatalf("%d rows, want 8", len(rows))
	}
	for _, r := range rows {
		l := LowPass{TimeConstantS: 1, Poles: r.Poles}
		testkit.CheckRel(t, "noise bandwidth", l.ENBWHz(), r.ENBW, 1e-9)
		testkit.CheckRel(t, "3 dB frequency", l.CutoffHz(), r.F3dB, 1e-9)
		for eps, want := range map[float64]float64{math.Exp(-1): r.Settle63, 0.1: r.Settle90, 0.01: r.Settle99, 1e-3: r.Settle999, 1e-4: r.Settle4} {
			testkit.CheckRel(t, "settling", l.SettlingS(eps), want, 1e-9)
			testkit.CheckRel(t, "step response", l.StepResponse(want), 1-eps, 1e-9)
		}
		// Far above the corner each pole gives 6.02 dB per octave.
		far := func(x float64) float64 { return -10 * float64(l.Poles) * math.Log10(1+x*x) }
		testkit.CheckRel(t, "slope", far(1e6)-far(2e6), r.Slope, 1e-6)
		l = LowPass{TimeConstantS: 0.3, Poles: r.Poles}
		testkit.CheckRel(t, "noise bandwidth at 0.3 s", l.ENBWHz()*0.3, r.ENBW, 1e-9)
		testkit.CheckRel(t, "settling at 0.3 s", l.SettlingS(0.01)/0.3, r.Settle99, 1e-9)
	}
}

// The filter as it runs: Σh² and the step response of the sections themselves.
func TestSampledLowPass(t *testing.T) {
	for poles := 1; poles <= 8; poles++ {
		for _, perTau := range []float64{3, 100} {
			l := LowPass{TimeConstantS: perTau / 48000, Poles: poles}
			_, gain := l.coefficients(48000)
			impulse := sections{gain, make([]complex128, poles)}
			in, energy, step := complex128(1), 0.0, 0.0
			worst := 0.0
			for n := range int(60 * perTau) {
				h := real(impulse.step(in))
				in = 0
				energy += h * h
				step += h
				worst = math.Max(worst, math.Abs(step-l.StepResponse((float64(n)+0.5+0.5*float64(poles))/48000)))
			}
			testkit.CheckRel(t, "sampled noise bandwidth", l.SampledENBWHz(48000), 24000*energy, 1e-9)
			testkit.CheckRel(t, "gain at zero frequency", step, 1, 1e-9)
			// What the comments promise: departures of order n/(τ·rate)².
			bound := float64(poles*poles) / (perTau * perTau)
			if d := math.Abs(l.SampledENBWHz(48000)/l.ENBWHz() - 1); d > bound {
				t.Errorf("%d poles, %g samples per time constant: bandwidth departs by %.2g, promised %.2g", poles, perTau, d, bound)
			}
			if worst > 0.5/perTau {
				t.Errorf("%d poles, %g samples per time constant: step response departs by %.2g", poles, perTau, worst)
			}
		}
	}
	one := LowPass{TimeConstantS: 100 / 48000.0, Poles: 1}
	testkit.CheckRel(t, "departure of one pole", one.SampledENBWHz(48000)/one.ENBWHz()-1, -1.0/12/1e4, 1e-3)
}

func TestStepResponseEdges(t *testing.T) {
	l := LowPass{TimeConstantS: 1, Poles: 3}
	if l.StepResponse(-1) != 0 || l.StepResponse(0) != 0 || l.StepResponse(math.NaN()) != 0 {
		t.Error("the step response begins before the step")
	}
}

// The sliding mean is the mean of the last n, whatever came before.
func TestSlidingMean(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 9).Draw(t, "n")
		x := rapid.SliceOfN(rapid.Float64Range(-1, 1), 1, 40).Draw(t, "x")
		m := slidingMean{ring: make([]complex128, n)}
		for i, v := range x {
			want := complex128(0)
			for j := max(0, i-n+1); j <= i; j++ {
				want += complex(x[j], -2*x[j])
			}
			want /= complex(float64(n), 0)
			if got := m.step(complex(v, -2*v)); math.Hypot(real(got-want), imag(got-want)) > 1e-14 {
				t.Fatalf("value %d: got %v, want %v", i, got, want)
			}
		}
	})
}
