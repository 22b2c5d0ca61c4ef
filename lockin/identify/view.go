package identify

import (
	"math"

	"example.org/wheatear/lockin/circuit"
	"example.org/wheatear/lockin/uncertain"
)

// view is a fitted circuit as the rules look at it.
type view struct {
	*circuit.Ranked
	lowHz, highHz float64 // of the sweep
	worst         float64 // relative rms of the residuals
}

func newView(r *circuit.Ranked, d *circuit.Data) *view {
	v := &view{Ranked: r, lowHz: math.Inf(1)}
	for _, f := range d.FreqHz {
		v.lowHz, v.highHz = min(v.lowHz, f), max(v.highHz, f)
	}
	v.worst = r.RelativeRms()
	return v
}

// z is the impedance of the fitted circuit.
func (v *view) z(freqHz float64) complex128 {
	return v.Ranked.Result.Circuit.Impedance(freqHz, v.Values()...)
}

// loss is D of a capacitor.
func (v *view) loss(freqHz float64) float64 {
	z := v.z(freqHz)
	return -real(z) / imag(z)
}

// grid are frequencies over the sweep, evenly spaced on a logarithmic axis.
func (v *view) grid() []float64 {
	const n = 121
	out := make([]float64, n)
	for i := range out {
		out[i] = v.lowHz * math.Pow(v.highHz/v.lowHz, float64(i)/(n-1))
	}
	return out
}

// has returns the estimate of an unknown; ok is false where the circuit has none or
// the sweep does not determine it.
func (v *view) has(name string) (value float64, ok bool) {
	for _, p := range v.Parameters {
		if p.Name == name {
			return p.Estimate, p.State == circuit.Determined
		}
	}
	return 0, false
}

// derive propagates the covariance of the values to a function of them, by the law
// of propagation (JCGM 100:2008, 5.2.2) with central differences. Unknowns that are
// not determined are held.
func (v *view) derive(f func(x []float64) float64) uncertain.Quantity {
	x := v.Values()
	n := len(x)
	slope := make([]float64, n)
	for i, p := range v.Parameters {
		if p.State != circuit.Determined {
			continue
		}
		h := 1e-5 * math.Abs(x[i])
		up, down := append([]float64(nil), x...), append([]float64(nil), x...)
		up[i], down[i] = up[i]+h, down[i]-h
		slope[i] = (f(up) - f(down)) / (2 * h)
	}
	sum := 0.0
	for i := range n {
		for j := range n {
			if slope[i] != 0 && slope[j] != 0 {
				sum += slope[i] * slope[j] * v.Cov.At(i, j)
			}
		}
	}
	dof := 0.0
	if v.Scale != 1 {
		dof = float64(v.Dof)
	}
	return uncertain.NormalQuantity(f(x), math.Sqrt(max(0, sum)), dof)
}

// index finds an unknown among the values.
func (v *view) index(name string) int {
	for i, p := range v.Parameters {
		if p.Name == name {
			return i
		}
	}
	return -1
}

func magnitude(z complex128) float64 { return math.Hypot(real(z), imag(z)) }

func abs(x float64) float64 { return math.Abs(x) }
