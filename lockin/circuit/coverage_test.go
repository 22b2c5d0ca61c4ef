package circuit

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// coverageCases are three circuits with values as such parts have them.
var coverageCases = []struct {
	text   string
	values []float64
}{
	{"Rs + C // Rp", []float64{100, 1e-6, 1000}},
	{"Cp // (Rs + L)", []float64{5e-9, 12, 0.05}},
	{"Re + Le + Res // Les // Ces", []float64{6.2, 0.4e-3, 35, 0.012, 250e-6}},
}

// coverage counts how often the intervals hold the true values, and how often fits and
// sweeps are found wanting that are sound.
func coverage(t *testing.T, fits int, low, high float64) {
	freqHz := logFrequencies(20, 20e3, 31)
	for n, of := range coverageCases {
		c := mustParse(t, of.text)
		random := rand.New(rand.NewPCG(uint64(n), 7))
		held, alarms := make([]int, len(of.values)), 0
		for range fits {
			r, err := Fit(c, noisy(c, of.values, freqHz, 1e-3, random), FitConfig{})
			if err != nil {
				t.Fatal(err)
			}
			for i, p := range r.Parameters {
				if p.Low <= of.values[i] && of.values[i] <= p.High {
					held[i]++
				}
			}
			if r.Agreement == Disagrees {
				alarms++
			}
		}
		for i, u := range c.unknowns {
			rate := float64(held[i]) / float64(fits)
			t.Logf("%s: the interval of %s holds its value in %.1f %%", of.text, u.Name, 100*rate)
			if rate < low || rate > high {
				t.Errorf("%s: the interval of %s holds its value in %.1f %%, want %g to %g", of.text, u.Name, 100*rate, 100*low, 100*high)
			}
		}
		t.Logf("%s: %.1f %% false alarms", of.text, 100*float64(alarms)/float64(fits))
		if float64(alarms) > 0.05*float64(fits) {
			t.Errorf("%s: %d of %d sound fits are said not to agree", of.text, alarms, fits)
		}
	}
}

// Of 200 fits, 95 % ± 4 standard deviations of 1.54 %.
func TestIntervalsHoldTheValues(t *testing.T) { coverage(t, 200, 0.888, 1) }

func TestSoakIntervalsHoldTheValues(t *testing.T) {
	if !*soak {
		t.Skip("long; run with -soak")
	}
	coverage(t, 2000, 0.93, 0.97)
}

// wrong fits a circuit to the sweep of another, or to one that drifts.
func wrong(t *testing.T, truth, fitted string, values []float64, drift float64, random *rand.Rand) bool {
	t.Helper()
	c := mustParse(t, truth)
	d := noisy(c, values, logFrequencies(20, 20e3, 31), 1e-3, random)
	for i := range d.Z {
		d.Z[i] *= complex(1+drift*float64(i)/float64(len(d.Z)-1), 0)
	}
	r, err := Fit(mustParse(t, fitted), d, FitConfig{})
	if err != nil {
		t.Fatal(err)
	}
	return r.Agreement == Disagrees
}

func detection(t *testing.T, each int) {
	cases := []struct {
		truth, fitted string
		values        []float64
		drift         float64
	}{
		{"Rs + C // Rp", "Rs + C // Rp", coverageCases[0].values, 0.01},
		{"Cp // (Rs + L)", "Cp // (Rs + L)", coverageCases[1].values, 0.01},
		{"Re + Le + Res // Les // Ces", "Re + Le + Res // Les // Ces", coverageCases[2].values, 0.01},
		{"Rs + Q // Rp", "Rs + C // Rp", []float64{100, 1e-6, 0.97, 1000}, 0},
		{"Cp // (Rs + L // Rc)", "Cp // (Rs + L)", []float64{5e-9, 12, 0.05, 50e3}, 0},
		{"Re + K + Res // Les // Ces", "Re + Le + Res // Les // Ces", []float64{6.2, 1e-3, 0.9, 35, 0.012, 250e-6}, 0},
		{"Rs + T", "Rs + C", []float64{0.05, 100e-6, 0.3}, 0},
	}
	for _, of := range cases {
		random := rand.New(rand.NewPCG(9, 9))
		found := 0
		for range each {
			if wrong(t, of.truth, of.fitted, of.values, of.drift, random) {
				found++
			}
		}
		t.Logf("%s as %s, drift %g: told in %d of %d", of.truth, of.fitted, of.drift, found, each)
		if found*10 < each*9 {
			t.Errorf("%s as %s, drift %g: told in %d of %d, want 90 %%", of.truth, of.fitted, of.drift, found, each)
		}
	}
}

func TestWrongCircuitsAndDriftAreTold(t *testing.T) { detection(t, 10) }

func TestSoakWrongCircuitsAndDriftAreTold(t *testing.T) {
	if !*soak {
		t.Skip("long; run with -soak")
	}
	detection(t, 200)
}

// Readings that share an error: with the full covariance the intervals stay right,
// without it they would be too short by far.
func TestSharedErrorsNeedTheFullCovariance(t *testing.T) {
	c := mustParse(t, "Rs + C")
	freqHz := logFrequencies(100, 10e3, 12)
	random := rand.New(rand.NewPCG(5, 5))
	values := []float64{50, 1e-6}
	const fits, own, shared = 60, 1e-3, 1e-2
	full, apart := 0, 0
	for range fits {
		d := noisy(c, values, freqHz, own, random)
		d.Full = sharedCovariance(c, values, freqHz, own, shared)
		factor := complex(1+shared*random.NormFloat64(), shared*random.NormFloat64())
		for i := range d.Z {
			d.Z[i] += c.Impedance(freqHz[i], values...) * (factor - 1)
		}
		if holds(t, c, d, 1, values[1]) {
			full++
		}
		d.Full = nil
		if holds(t, c, d, 1, values[1]) {
			apart++
		}
	}
	t.Logf("C is held in %d of %d with the full covariance, in %d without", full, fits, apart)
	if full < fits*85/100 || apart > fits/2 {
		t.Errorf("C is held in %d of %d with the full covariance, in %d without", full, fits, apart)
	}
}

// sharedCovariance is that of own noise of each point and of one factor of all.
func sharedCovariance(c *Circuit, values, freqHz []float64, own, shared float64) *mat.SymDense {
	n := len(freqHz)
	v := mat.NewSymDense(2*n, nil)
	parts := func(i int) (re, im float64) {
		z := c.Impedance(freqHz[i], values...)
		return real(z), imag(z)
	}
	for i := range n {
		a, b := parts(i)
		for j := i; j < n; j++ {
			p, q := parts(j)
			v.SetSym(2*i, 2*j, shared*shared*(a*p+b*q))
			v.SetSym(2*i+1, 2*j+1, shared*shared*(a*p+b*q))
			v.SetSym(2*i, 2*j+1, shared*shared*(a*q-b*p))
			v.SetSym(2*j, 2*i+1, shared*shared*(b*p-a*q))
		}
		noise := own * own * (a*a + b*b)
		v.SetSym(2*i, 2*i, v.At(2*i, 2*i)+noise)
		v.SetSym(2*i+1, 2*i+1, v.At(2*i+1, 2*i+1)+noise)
	}
	return v
}

func holds(t *testing.T, c *Circuit, d *Data, i int, value float64) bool {
	t.Helper()
	r, err := Fit(c, d, FitConfig{})
	if err != nil {
		t.Fatal(err)
	}
	return r.Parameters[i].Low <= value && value <= r.Parameters[i].High
}

// A sweep whose noise is not known gives its size: 0.3 % is found within 40 %, which
// is more than three standard deviations of a spread with 59 degrees of freedom.
func TestUnknownNoiseIsFound(t *testing.T) {
	c := mustParse(t, "Rs + C // Rp")
	d := noisy(c, []float64{100, 1e-6, 1000}, logFrequencies(20, 20e3, 31), 3e-3, rand.New(rand.NewPCG(6, 6)))
	d.Cov = nil
	r, err := Fit(c, d, FitConfig{})
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(r.Scale/3e-3-1) > 0.4 || r.Agreement != NotJudged || !math.IsNaN(r.Probability) {
		t.Errorf("noise of %g, agreement %q, probability %g", r.Scale, r.Agreement, r.Probability)
	}
}
