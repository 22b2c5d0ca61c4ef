package uncertain

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// The steps follow u, not the value: they need no idea of the value's scale, and
// a rounding error ε|y|/h in a sensitivity is worth ε|y|·u/h in u(y), about
// 10⁻¹⁵ |y| whatever u is.
const (
	stepOfU = 1.0 / 8
	// leastStep, relative to the value, keeps x+h apart from x where u is
	// close to the spacing of floating-point numbers.
	leastStep = 1.0 / (1 << 30)
)

// differences fills sens with central differences of fourth order,
//
//	f' ≈ [8(f(x+h) − f(x−h)) − (f(x+2h) − f(x−2h))]/(12h),
//
// leaving out the inputs that are exact.
// Reference: Abramowitz and Stegun, Handbook of Mathematical Functions, 25.3.
func differences(sens *mat.Dense, in *Inputs, f Func) {
	outputs, _ := sens.Dims()
	x := in.Values()
	var y [4][]float64
	for i := range y {
		y[i] = make([]float64, outputs)
	}
	for j, value := range in.values {
		u := in.U(j)
		if u == 0 {
			continue
		}
		h := math.Max(u*stepOfU, math.Abs(value)*leastStep)
		for k, at := range [4]float64{value - 2*h, value - h, value + h, value + 2*h} {
			x[j] = at
			f(y[k], x)
		}
		x[j] = value
		for i := range outputs {
			sens.Set(i, j, (8*(y[2][i]-y[1][i])-(y[3][i]-y[0][i]))/(12*h))
		}
	}
}
