package fold

import (
	"math/cmplx"
	"math/rand/v2"
	"testing"
)

// However many cores share a record, the sums are those of one.
func TestSharedCorrelationEqualsOneCore(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	x := make([]float64, 100_003)
	for i := range x {
		x[i] = rng.Float64() - 0.4
	}
	freqs := []float64{0, 997, 1000, 1030.123456, 103 * 48000.0 / 4799, 23999}
	want, err := correlateAlone(nil, x, freqs, 48000)
	if err != nil {
		t.Fatal(err)
	}
	for parts := 2; parts <= 5; parts++ {
		got, err := correlateShared(nil, x, freqs, 48000, parts)
		if err != nil {
			t.Fatal(err)
		}
		for k := range want {
			if e := cmplx.Abs(got[k] - want[k]); e > 1e-13*float64(len(x)) {
				t.Errorf("%d parts, %g Hz: off by %g", parts, freqs[k], e)
			}
		}
	}
	if _, err := correlateShared(nil, x, []float64{1000}, 0, 3); err == nil {
		t.Error("rate 0 was accepted")
	}
}
