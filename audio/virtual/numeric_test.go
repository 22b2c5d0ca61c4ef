package virtual

import (
	"math"
	"math/cmplx"
	"testing"
)

func TestGauss(t *testing.T) {
	for _, degree := range []float64{0, 2, 20, 46} {
		sum := 0.0
		for i, x := range gaussNodes {
			sum += gaussWeights[i] * math.Pow(x, degree)
		}
		if want := 2 / (degree + 1); math.Abs(sum-want) > 1e-14 {
			t.Errorf("∫ x^%g is %v, want %v", degree, sum, want)
		}
	}
}

// Values: Abramowitz and Stegun, Handbook of Mathematical Functions, 1964, table
// 9.8, e^-x I0(x) times e^x (from memory, checked against the integral below).
func TestBessel0(t *testing.T) {
	for _, x := range []float64{0, 1, 5, 20.5} {
		// I0(x) = 1/π ∫ exp(x cos θ) dθ over 0 … π; the rectangle rule converges at once.
		const n = 200
		sum := 0.0
		for k := range n {
			sum += math.Exp(x * math.Cos(math.Pi*(float64(k)+0.5)/n))
		}
		if want := sum / n; math.Abs(bessel0(x)-want) > 1e-13*want {
			t.Errorf("I0(%g) is %v, want %v", x, bessel0(x), want)
		}
	}
	if got := bessel0(1); math.Abs(got-1.2660658778) > 1e-10 {
		t.Errorf("I0(1) is %v", got)
	}
}

// direct integrates with so many panels that nothing is left.
func direct(z complex128, j int) complex128 {
	const panels = 400
	var p [basis]float64
	sum := complex(0, 0)
	for k := range panels {
		for q, x := range gaussNodes {
			tau := (float64(k) + (x+1)/2) / panels
			legendre(p[:], 2*tau-1)
			sum += cmplx.Exp(z*complex(1-tau, 0)) * complex(gaussWeights[q]/(2*panels)*p[j], 0)
		}
	}
	return sum
}

func TestMoments(t *testing.T) {
	const h = 0.25
	for _, z := range []complex128{0, -1e-9, -0.3, 2i, -11.9, -12.1, 199i, -201, -150 + 140i, 250i, -1000, -3000 + 100i} {
		got := moments(z/h, h)
		for j := range got {
			want := direct(z, j) * h
			// relative to the largest, which the sum of the outputs is made of
			if cmplx.Abs(got[j]-want) > 1e-12*cmplx.Abs(got[0])+1e-16 {
				t.Errorf("λh = %v, polynomial %d: got %v, want %v", z, j, got[j], want)
			}
		}
	}
	// A mode so fast that it follows at once: x = -u/λ at the end.
	got := moments(-1e12, 1e-5)
	for j := range got {
		if cmplx.Abs(got[j]*1e12-1) > 1e-4 {
			t.Errorf("fast mode, polynomial %d: %v", j, got[j]*1e12)
		}
	}
}

func TestEliminate(t *testing.T) {
	a := []float64{0, 2, 1, 1, 1, 1, 2, 0, -1} // needs its rows exchanged
	f := []float64{7, 6, -1}
	if !eliminate(a, f) {
		t.Fatal("not solved")
	}
	for i, want := range []float64{1, 2, 3} {
		if math.Abs(f[i]-want) > 1e-12 {
			t.Errorf("x%d is %v, want %v", i, f[i], want)
		}
	}
	for _, bad := range [][]float64{{1, 2, 2, 4}, {math.NaN(), 0, 0, 1}, {math.Inf(1), 0, 0, 1}} {
		if eliminate(bad, []float64{1, 1}) {
			t.Errorf("%v was solved", bad)
		}
	}
}

// Every law has the slopes that it claims, and steps that end.
func TestElements(t *testing.T) {
	for name, e := range map[string]element{
		"junction": junction{4e-9, 0.048}, "ceramic": ceramic{2e-6, 2}, "core": core{0.18, 2.6e-4},
	} {
		for _, w := range []float64{-3, -0.4, 0.2, 0.7, 1.1} {
			scale := e.fine() * 1e5
			if name == "junction" {
				scale = 0.7
			}
			w *= scale
			const step = 1e-6
			g0, _, s0, _ := e.at(w - step*scale)
			g1, _, s1, _ := e.at(w + step*scale)
			_, dg, _, ds := e.at(w)
			if got := (g1 - g0) / (2 * step * scale); math.Abs(got-dg) > 1e-6*math.Abs(dg) {
				t.Errorf("%s at %g: slope of g %g, claimed %g", name, w, got, dg)
			}
			if got := (s1 - s0) / (2 * step * scale); math.Abs(got-ds) > 1e-6*math.Abs(ds)+1e-12 {
				t.Errorf("%s at %g: slope of s %g, claimed %g", name, w, got, ds)
			}
			if next := e.limit(w, w+1e9*scale); !(next > w) || math.IsInf(next, 0) || next > w+30*scale {
				t.Errorf("%s: a wild step from %g goes to %g", name, w, next)
			}
			if next := e.limit(w, w+1e-4*e.fine()); next != w+1e-4*e.fine() {
				t.Errorf("%s: a fine step from %g goes to %g", name, w, next)
			}
		}
	}
}
