package circuit

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"
)

// A resistor alone: |Z| is known as well as R. And over many sweeps what is predicted
// spreads as much as it says, and its 95 % interval holds the truth.
func TestPredict(t *testing.T) {
	random := rand.New(rand.NewPCG(4, 9))
	r, err := Fit(mustParse(t, "R"), noisy(mustParse(t, "R"), []float64{470}, logFrequencies(20, 20e3, 31), 1e-3, random), FitConfig{})
	if err != nil {
		t.Fatal(err)
	}
	m, _ := r.Predict(1e3)
	if q := r.Parameters[0]; math.Abs(m.Value/q.Value-1) > 1e-12 || math.Abs(m.U/q.U-1) > 1e-6 {
		t.Errorf("|Z| %v, R %v", m, q.Quantity)
	}
	c, truth := mustParse(t, "Rs + C // Rp"), []float64{100, 1e-6, 1e3}
	z := c.Impedance(300, truth...)
	holding, n, spread := 0, 200, 0.0
	for range n {
		r, err := Fit(c, noisy(c, truth, logFrequencies(20, 20e3, 31), 1e-3, random), FitConfig{})
		if err != nil {
			t.Fatal(err)
		}
		m, p := r.Predict(300)
		if m.Low <= cmplx.Abs(z) && cmplx.Abs(z) <= m.High && p.Low <= cmplx.Phase(z) && cmplx.Phase(z) <= p.High {
			holding++
		}
		e := (m.Value - cmplx.Abs(z)) / m.U
		spread += e * e / float64(n)
		if off := math.Abs(r.RelativeRms()/(1e-3*math.Sqrt2) - 1); off > 0.4 { // 62 residuals: 9 % standard deviation
			t.Errorf("relative rms %g, want near %g", r.RelativeRms(), 1e-3*math.Sqrt2)
		}
	}
	// Both intervals together hold in 90 % or more; 200 of them scatter by 2 %.
	if holding < n*83/100 || math.Abs(spread-1) > 0.4 { // variance of 200 draws: 10 % standard deviation
		t.Errorf("%d of %d intervals hold the truth; errors spread %.2f times u²", holding, n, spread)
	}
}
