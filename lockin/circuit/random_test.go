package circuit

import (
	"flag"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"slices"
	"testing"
	"time"
)

var soak = flag.Bool("soak", false, "run the long statistical tests")

// randomKinds are twelve circuits with which the search for starting values is tried.
var randomKinds = []string{
	"Rs + C // Rp",
	"Rp // (C + Rs + Ls)",
	"(R + Ls) // Cp",
	"Cp // (Rs + L // Rc)",
	"Cp // (Rm + Lm + Cm)",
	"Re + Le + Res // Les // Ces",
	"Ra // Ca + Rb // Cb",
	"Rs + Q // Rp",
	"Rs + C // (Rp + W)",
	"Cp // (Rs + Ll + Rc // Lm)",
	"Re + K + Res // Les // Ces",
	"Rp // (T + Rs + Ls)",
}

// logFrequencies returns points equally spaced on a logarithmic axis.
func logFrequencies(low, high float64, n int) []float64 {
	f := make([]float64, n)
	for i := range f {
		f[i] = low * math.Pow(high/low, float64(i)/float64(n-1))
	}
	return f
}

// drawValues draws values whose impedances lie over six decades: resistances from
// 0.1 Ω to 100 kΩ, capacitances and inductances those of such impedances at the middle
// of the band.
func drawValues(c *Circuit, random *rand.Rand) []float64 {
	const middle = 2 * math.Pi * 632
	values := make([]float64, len(c.unknowns))
	var n float64
	for i, u := range c.unknowns {
		if i+1 < len(values) && c.unknowns[i+1].scale == exponent {
			n = 0.5 + 0.45*random.Float64()
		}
		values[i] = at1(u, middle, math.Pow(10, 6*random.Float64()-1), n)
	}
	return values
}

// noisy returns a sweep of c with relative noise on both parts.
func noisy(c *Circuit, values, freqHz []float64, rel float64, random *rand.Rand) *Data {
	d := &Data{FreqHz: freqHz, Z: make([]complex128, len(freqHz))}
	for i, f := range freqHz {
		d.Z[i] = c.Impedance(f, values...)
	}
	d.Cov = Relative(d.Z, rel)
	for i, z := range d.Z {
		d.Z[i] += complex(rel*cmplx.Abs(z)*random.NormFloat64(), rel*cmplx.Abs(z)*random.NormFloat64())
	}
	return d
}

// right says whether a fit found a chi-square within 5 % of the best that can be
// found from the true values.
func right(t testing.TB, c *Circuit, d *Data, values []float64) (ok bool, r *Result, best float64) {
	t.Helper()
	r, err := Fit(c, d, FitConfig{})
	if err != nil {
		t.Fatal(err)
	}
	target, err := newTarget(c, d, FitConfig{})
	if err != nil {
		t.Fatal(err)
	}
	x := target.xOf(make([]float64, len(values)), values)
	s, err := target.solve(x, 500, 1e-9)
	if err != nil {
		t.Fatal(err)
	}
	return r.ChiSquare <= 1.05*s.Sum, r, s.Sum
}

func convergence(t *testing.T, each int, seed uint64) {
	random := rand.New(rand.NewPCG(seed, 1))
	freqHz := logFrequencies(20, 20e3, 31)
	total, good := 0, 0
	for _, text := range randomKinds {
		c, of := mustParse(t, text), 0
		for range each {
			values := drawValues(c, random)
			d := noisy(c, values, freqHz, 1e-3, random)
			if ok, r, best := right(t, c, d, values); ok {
				of++
			} else {
				t.Logf("%s %.3g: chi-square %.4g, best %.4g, %d tries", text, values, r.ChiSquare, best, r.Tries)
			}
		}
		t.Logf("%-30s %d of %d", text, of, each)
		total, good = total+each, good+of
	}
	t.Logf("%d of %d, %.1f %%", good, total, 100*float64(good)/float64(total))
	if float64(good) < 0.97*float64(total) {
		t.Errorf("%d of %d circuits converged, want 97 %%", good, total)
	}
}

func TestStartsAreFoundInTheData(t *testing.T) { convergence(t, 10, 1) }

func TestSoakStartsAreFoundInTheData(t *testing.T) {
	if !*soak {
		t.Skip("long; run with -soak")
	}
	convergence(t, 42, 2)
}

func BenchmarkFitFourUnknowns(b *testing.B) {
	c := mustParse(b, "Rp // (C + Rs + Ls)")
	random := rand.New(rand.NewPCG(3, 1))
	freqHz := logFrequencies(20, 20e3, 31)
	var sweeps []*Data
	for range 50 {
		sweeps = append(sweeps, noisy(c, drawValues(c, random), freqHz, 1e-3, random))
	}
	b.ReportAllocs()
	var took []time.Duration
	for i := 0; b.Loop(); i++ {
		begin := time.Now()
		if _, err := Fit(c, sweeps[i%len(sweeps)], FitConfig{}); err != nil {
			b.Fatal(err)
		}
		took = append(took, time.Since(begin))
	}
	slices.Sort(took)
	b.ReportMetric(took[len(took)/2].Seconds()*1e3, "ms-median")
}
