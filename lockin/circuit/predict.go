package circuit

import (
	"math"

	"example.org/wheatear/lockin/uncertain"
)

// Predict returns |Z| in ohm and the phase in radians of the fitted circuit at a
// frequency in hertz, with the uncertainty that the values leave, by the law of
// propagation (JCGM 100:2008, 5.2.2). Unknowns that the sweep does not determine are
// held where they are.
func (r *Result) Predict(freqHz float64) (modulus, phase uncertain.Quantity) {
	if r.Circuit == nil || r.Cov == nil || r.Cov.SymmetricDim() != len(r.Parameters) {
		return uncertain.Absent(), uncertain.Absent()
	}
	x := r.Values()
	z := r.Circuit.Impedance(freqHz, x...)
	size, angle := math.Hypot(real(z), imag(z)), math.Atan2(imag(z), real(z))
	k := len(x)
	slopes := make([]complex128, k) // d ln Z / dx
	for i, p := range r.Parameters {
		if p.State != Determined {
			continue
		}
		h := 1e-6 * math.Abs(x[i])
		y := append([]float64(nil), x...)
		y[i] = x[i] + h
		above := r.Circuit.Impedance(freqHz, y...)
		y[i] = x[i] - h
		below := r.Circuit.Impedance(freqHz, y...)
		slopes[i] = (above - below) / (z * complex(2*h, 0))
	}
	var re, im float64
	for i, a := range slopes {
		for j, b := range slopes {
			if a != 0 && b != 0 {
				c := r.Cov.At(i, j)
				re, im = re+real(a)*real(b)*c, im+imag(a)*imag(b)*c
			}
		}
	}
	dof := 0.0
	if r.Scale != 1 {
		dof = float64(r.Dof)
	}
	return uncertain.NormalQuantity(size, size*math.Sqrt(math.Max(0, re)), dof), uncertain.NormalQuantity(angle, math.Sqrt(math.Max(0, im)), dof)
}

// RelativeRms is the root of the mean square of the residuals relative to the circuit.
func (r *Result) RelativeRms() float64 {
	sum := 0.0
	for _, e := range r.Residuals {
		a := math.Hypot(real(e.Z), imag(e.Z)) / math.Hypot(real(e.Model), imag(e.Model))
		sum += a * a
	}
	return math.Sqrt(sum / float64(len(r.Residuals)))
}
