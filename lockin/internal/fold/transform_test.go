package fold

import (
	"math/cmplx"
	"testing"

	"example.org/wheatear/lockin/internal/testkit"
	"github.com/mjibson/go-dsp/fft"
	"gonum.org/v1/gonum/dsp/fourier"
)

// A second opinion on our correlation and on the library's transform: another
// implementation, at a power of two, where it is exact.
func TestCorrelateAgainstIndependentTransform(t *testing.T) {
	x := testkit.RoughSignal(4096, 0.0213, 0.5, 1, 41)
	other := fft.FFTReal(append([]float64(nil), x...))
	own := fourier.NewFFT(4096).Coefficients(nil, x)
	freqs := make([]float64, 2049)
	for i := range freqs {
		freqs[i] = float64(i)
	}
	sums, err := Correlate(nil, x, freqs, 4096)
	if err != nil {
		t.Fatal(err)
	}
	for i := range freqs {
		if cmplx.Abs(sums[i]-other[i]) > 1e-10 || cmplx.Abs(own[i]-other[i]) > 1e-10 {
			t.Fatalf("bin %d: correlation %v, transforms %v and %v", i, sums[i], own[i], other[i])
		}
	}
}
