package spectrum

import (
	"math"
	"math/cmplx"
	"testing"

	"example.org/wheatear/lockin/internal/testkit"
	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/dsp/window"
)

// Harris 1978, Nuttall 1981, ISO 18431-2, D'Antona and Ferrero 2006: figures
// recomputed from the coefficients, N = 1024. Gain and noise bandwidth hold to
// 1e-12, scallop loss to 1e-7 dB, side lobes (double precision) to 0.005 dB.
func TestWindowFigures(t *testing.T) {
	byName := map[string]Window{}
	for _, w := range Windows() {
		byName[w.Name()] = w
	}
	rows := testkit.ReadCSV(t, "windows.csv")
	if len(rows) != len(byName) {
		t.Errorf("%d windows in the table, %d here", len(rows), len(byName))
	}
	for _, row := range rows {
		w, ok := byName[row["id"]]
		if !ok {
			t.Errorf("no window %s", row["id"])
			continue
		}
		const n = 1024
		testkit.CheckRel(t, row["id"]+" gain", w.CoherentGain(n), testkit.Number(t, row["coherent_gain"]), 1e-12)
		testkit.CheckRel(t, row["id"]+" noise bandwidth", w.ENBWBins(n), testkit.Number(t, row["enbw_bins"]), 1e-12)
		if got, want := w.ScallopDB(n), testkit.Number(t, row["scallop_loss_db"]); math.Abs(got-want) > 1e-7 {
			t.Errorf("%s scallop loss: got %.9f dB, want %.9f", row["id"], got, want)
		}
		height, at := w.SideLobeDB(n)
		if want := testkit.Number(t, row["sidelobe_db"]); math.Abs(height-want) > 0.005 {
			t.Errorf("%s side lobe: got %.4f dB at %.2f, want %.4f at %s", row["id"], height, at, want, row["sidelobe_at_bin"])
		}
	}
}

// Gain a_0 and noise bandwidth (a_0² + ½Σa_k²)/a_0² do not depend on N.
func TestCosineWindowsAnyLength(t *testing.T) {
	for _, w := range Windows() {
		if len(w.cosine) == 0 {
			continue
		}
		enbw := w.cosine[0] * w.cosine[0]
		for _, a := range w.cosine[1:] {
			enbw += a * a / 2
		}
		for _, n := range []int{11, 12, 100, 4799} {
			testkit.CheckRel(t, w.Name()+" gain", w.CoherentGain(n), w.cosine[0], 1e-12)
			testkit.CheckRel(t, w.Name()+" noise bandwidth", w.ENBWBins(n), enbw/(w.cosine[0]*w.cosine[0]), 1e-12)
		}
	}
}

// Periodic, not symmetric: a coherent tone leaks into exactly the bins that the
// cosine terms name, with their coefficients and signs. The library's symmetric
// window of the same name leaks everywhere.
func TestWindowsArePeriodic(t *testing.T) {
	const n, k = 64, 17
	tone := testkit.Cosine(n, k, n, 1, 0.7)
	for _, w := range []Window{Hann(), BlackmanHarris(), FlatTop()} {
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
				t.Errorf("%s, bin %d: got %v, want %v", w.Name(), bin, got, want)
			}
		}
	}
	symmetric := window.Hann(append([]float64(nil), tone...))
	if c := fourier.NewFFT(n).Coefficients(nil, symmetric); cmplx.Abs(c[k+5]) < 1e-6 {
		t.Error("the library's window has become periodic: the remark in window.go is out of date")
	}
}

func TestWindowEdges(t *testing.T) {
	for _, w := range Windows() {
		if w.Values(0) != nil || w.Values(-1) != nil {
			t.Errorf("%s: a window of no length has values", w.Name())
		}
		if v := w.Values(1); len(v) != 1 || math.IsNaN(v[0]) {
			t.Errorf("%s of length 1: %v", w.Name(), v)
		}
	}
	if v := KaiserWindow("wild", 1e9).Values(100); math.IsNaN(v[50]) || math.Abs(v[50]-1) > 1e-12 {
		t.Errorf("Kaiser of a wild β: middle %g, want 1", v[50])
	}
}

func TestBesselI0(t *testing.T) {
	// Abramowitz and Stegun, table 9.8: I₀(x)·exp(−x).
	for x, want := range map[float64]float64{0: 1, 1: 0.4657596077, 5: 0.1835408126, 10: 0.1278333372} {
		testkit.CheckRel(t, "I0", besselI0(x)*math.Exp(-x), want, 1e-9)
	}
}
