package spectrum

import (
	"math"
	"math/cmplx"
	"testing"

	"example.org/wheatear/lockin/internal/testkit"
	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/dsp/window"
)

// The windows by the names of the table.
var windows = map[string]Window{
	"rectangular": Rectangular(), "hann": Hann(), "blackman-harris-4term-92dB": BlackmanHarris(), "flattop-iso18431-2": FlatTop(),
}

// Harris 1978 and ISO 18431-2: figures recomputed from the coefficients, N = 1024. Gain
// and noise bandwidth hold to 1e-12, scallop loss to 1e-7 dB, side lobes (double
// precision) to 0.005 dB.
func TestWindowFigures(t *testing.T) {
	rows := testkit.ReadCSV(t, "windows.csv")
	if len(rows) != len(windows) {
		t.Errorf("%d windows in the table, %d here", len(rows), len(windows))
	}
	for _, row := range rows {
		w, ok := windows[row["id"]]
		if !ok {
			t.Errorf("no window %s", row["id"])
			continue
		}
		const n = 1024
		testkit.CheckRel(t, row["id"]+" gain", coherentGain(w, n), testkit.Number(t, row["coherent_gain"]), 1e-12)
		testkit.CheckRel(t, row["id"]+" noise bandwidth", w.ENBWBins(n), testkit.Number(t, row["enbw_bins"]), 1e-12)
		if got, want := scallopDB(w, n), testkit.Number(t, row["scallop_loss_db"]); math.Abs(got-want) > 1e-7 {
			t.Errorf("%s scallop loss: got %.9f dB, want %.9f", row["id"], got, want)
		}
		height, at := sideLobeDB(w, n)
		if want := testkit.Number(t, row["sidelobe_db"]); math.Abs(height-want) > 0.005 {
			t.Errorf("%s side lobe: got %.4f dB at %.2f, want %.4f at %s", row["id"], height, at, want, row["sidelobe_at_bin"])
		}
	}
}

// Gain a_0 and noise bandwidth (a_0² + ½Σa_k²)/a_0² do not depend on N.
func TestWindowsAnyLength(t *testing.T) {
	for name, w := range windows {
		a := append([]float64{1}, w.cosine...)
		if len(w.cosine) > 0 {
			a = w.cosine
		}
		enbw := a[0] * a[0]
		for _, v := range a[1:] {
			enbw += v * v / 2
		}
		for _, n := range []int{11, 12, 100, 4799} {
			testkit.CheckRel(t, name+" gain", coherentGain(w, n), a[0], 1e-12)
			testkit.CheckRel(t, name+" noise bandwidth", w.ENBWBins(n), enbw/(a[0]*a[0]), 1e-12)
		}
	}
}

// Periodic, not symmetric: a coherent tone leaks into exactly the bins that the
// cosine terms name, with their coefficients and signs. The library's symmetric
// window of the same name leaks everywhere.
func TestWindowsArePeriodic(t *testing.T) {
	const n, k = 64, 17
	tone := testkit.Cosine(n, k, n, 1, 0.7)
	for name, w := range windows {
		if len(w.cosine) == 0 {
			continue
		}
		x := make([]float64, n)
		for i, v := range w.Values(n) {
			x[i] = v * tone[i]
		}
		c := fourier.NewFFT(n).Coefficients(nil, x)
		for bin, got := range c {
			want := complex128(0)
			if d := int(math.Abs(float64(bin - k))); d < len(w.cosine) {
				a := w.cosine[d] * math.Pow(-1, float64(d))
				if d > 0 {
					a /= 2
				}
				want = cmplx.Rect(a*n/2, 0.7)
			}
			if cmplx.Abs(got-want) > 1e-13*n {
				t.Errorf("%s, bin %d: got %v, want %v", name, bin, got, want)
			}
		}
	}
	symmetric := window.Hann(append([]float64(nil), tone...))
	if c := fourier.NewFFT(n).Coefficients(nil, symmetric); cmplx.Abs(c[k+5]) < 1e-6 {
		t.Error("the library's window has become periodic: the remark in window.go is out of date")
	}
}

func TestWindowEdges(t *testing.T) {
	for name, w := range windows {
		if w.Values(0) != nil || w.Values(-1) != nil {
			t.Errorf("%s: a window of no length has values", name)
		}
		if v := w.Values(1); len(v) != 1 || math.IsNaN(v[0]) {
			t.Errorf("%s of length 1: %v", name, v)
		}
	}
}

// coherentGain returns Σw/N, what the window makes of a steady level: a_0 for a
// cosine window longer than its terms.
func coherentGain(w Window, n int) float64 {
	sum := 0.0
	for _, v := range w.Values(n) {
		sum += v
	}
	return sum / float64(n)
}

// scallopDB returns the loss of amplitude, in decibels, of a tone half way between
// two bins.
func scallopDB(w Window, n int) float64 {
	values := w.Values(n)
	return -20 * math.Log10(windowResponse(values, 0.5)/windowResponse(values, 0))
}

// windowResponse returns |Σ w[n]·exp(−j2πn·bin/N)|.
func windowResponse(w []float64, bin float64) float64 {
	sum := complex128(0)
	for i, v := range w {
		sum += cmplx.Rect(v, -2*math.Pi*bin*float64(i)/float64(len(w)))
	}
	return cmplx.Abs(sum)
}

// sideLobeDB returns the height of the highest side lobe above (below, that is)
// the main lobe, in decibels of amplitude, and the bin it is at. n is at least 32.
func sideLobeDB(w Window, n int) (heightDB, atBin float64) {
	const fine = 32 // points per bin
	values := w.Values(n)
	padded := append(values, make([]float64, (fine-1)*n)...)
	spectrum := fourier.NewFFT(fine*n).Coefficients(nil, padded)
	best := mainLobeEnd(spectrum)
	for i := best; i < len(spectrum); i++ {
		if cmplx.Abs(spectrum[i]) > cmplx.Abs(spectrum[best]) {
			best = i
		}
	}
	atBin = goldenMaximum(float64(best-1)/fine, float64(best+1)/fine, func(b float64) float64 { return windowResponse(values[:n], b) })
	return 20 * math.Log10(windowResponse(values[:n], atBin)/windowResponse(values[:n], 0)), atBin
}

// mainLobeEnd returns the index of the first minimum once the response is below
// half (the top of a flat top has minima of its own).
func mainLobeEnd(spectrum []complex128) int {
	i := 0
	for i < len(spectrum)-1 && cmplx.Abs(spectrum[i]) > cmplx.Abs(spectrum[0])/2 {
		i++
	}
	for i < len(spectrum)-1 && cmplx.Abs(spectrum[i+1]) < cmplx.Abs(spectrum[i]) {
		i++
	}
	return i
}

// goldenMaximum finds the maximum of a function with one hump between low and
// high, to 1e-7 of their distance or so.
func goldenMaximum(low, high float64, f func(float64) float64) float64 {
	ratio := (math.Sqrt(5) - 1) / 2
	a, b := high-ratio*(high-low), low+ratio*(high-low)
	fa, fb := f(a), f(b)
	for range 34 {
		if fa > fb {
			high, b, fb = b, a, fa
			a = high - ratio*(high-low)
			fa = f(a)
		} else {
			low, a, fa = a, b, fb
			b = low + ratio*(high-low)
			fb = f(b)
		}
	}
	return (low + high) / 2
}
