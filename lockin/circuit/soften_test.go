package circuit

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// A capacitor with a loss that the circuit lacks, read with little noise and a large
// error that all points share: as it stands the capacitance goes far astray; with what
// the circuit cannot describe it is found.
func TestSoftened(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 5))
	d := noisy(mustParse(t, "Rs + Q"), []float64{0.1, 1e-6, 0.98}, logFrequencies(20, 20e3, 31), 1e-5, random)
	full := mat.NewSymDense(62, nil)
	for i := range 62 {
		for j := i; j < 62; j++ {
			part := func(k int) float64 { return []float64{real(d.Z[k/2]), imag(d.Z[k/2])}[k%2] }
			full.SetSym(i, j, 1e-4*part(i)*part(j))
		}
		c := d.Cov[i/2].ReRe
		full.SetSym(i, i, full.At(i, i)+c)
	}
	shared := &Data{FreqHz: d.FreqHz, Z: d.Z, Full: full}
	value := func(d *Data) float64 {
		r, err := Fit(mustParse(t, "Rs + C"), d, FitConfig{})
		if err != nil {
			t.Fatal(err)
		}
		return r.Values()[1]
	}
	// Q of n = 0.98 is between 0.80 and 0.91 µF over the sweep.
	if c := value(shared.Softened(0.03)); c < 0.80e-6 || c > 0.91e-6 {
		t.Errorf("softened: %.3g F", c)
	}
	if c := value(shared); c > 0.80e-6 && c < 0.91e-6 {
		t.Errorf("as it stands: %.3g F, which needs no softening", c)
	}
	if soft := shared.Softened(0.01); soft.Full.At(0, 1) != full.At(0, 1) || soft.Full.At(0, 0) <= full.At(0, 0) || &soft.Z[0] != &d.Z[0] {
		t.Error("softening adds to the diagonal alone")
	}
	if got := d.Softened(1e-5).Cov[3]; math.Abs(got.ReRe/d.Cov[3].ReRe-2) > 0.01 || got.ReIm != d.Cov[3].ReIm {
		t.Errorf("twice the variance: %v of %v", got, d.Cov[3])
	}
	if bare := (&Data{FreqHz: d.FreqHz, Z: d.Z}).Softened(0.1); bare.Cov != nil || bare.Full != nil {
		t.Error("what is not known stays unknown")
	}
}

func TestChooseNear(t *testing.T) {
	random := rand.New(rand.NewPCG(6, 5))
	list := []Candidate{{Name: "a", Circuit: mustParse(t, "Rs + C")}}
	for _, c := range []struct {
		n, want float64 // of a dielectric; allowance
		verdict Verdict
	}{{1, 0, Chosen}, {0.999, 0.005, NoneAgrees}, {0.98, 0.05, NoneAgrees}, {0.5, 0.3, NoneAgrees}} {
		d := noisy(mustParse(t, "Rs + Q"), []float64{0.1, 1e-6, c.n}, logFrequencies(20, 20e3, 31), 1e-5, random)
		got, rel, err := ChooseNear(list, d)
		if err != nil || rel != c.want || got.Verdict != c.verdict {
			t.Errorf("n = %g: allowance %g, %v, %v; want %g, %v", c.n, rel, got.Verdict, err, c.want, c.verdict)
		}
	}
}
