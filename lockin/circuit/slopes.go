package circuit

import "math"

// differences returns a Jacobian by central differences over two widths, whose error
// is of the order of ε^(4/5) for a step near ε^(1/5).
func differences(f func(dst, x []float64), count, n int) func(dst, x []float64) {
	x, r := make([]float64, n), make([]float64, count)
	step := 0.1 * math.Pow(2.2e-16, 0.2)
	stencil := []struct{ at, weight float64 }{{-2, 1.0 / 12}, {-1, -2.0 / 3}, {1, 2.0 / 3}, {2, -1.0 / 12}}
	return func(dst, at []float64) {
		copy(x, at)
		for k := range x {
			h := step * math.Abs(at[k])
			if h == 0 {
				h = step
			}
			h = (at[k] + h) - at[k] // as it comes out in floats
			for i := range r {
				dst[i*n+k] = 0
			}
			for _, s := range stencil {
				x[k] = at[k] + s.at*h
				f(r, x)
				for i, v := range r {
					dst[i*n+k] += s.weight * v / h
				}
			}
			x[k] = at[k]
		}
	}
}

// accelerate finds how the path bends: the correction that the second derivative of
// the residuals along the step, r” from a third point, asks for. It returns the
// length of the whole correction relative to the step, in the scale of the search.
//
// Reference: Transtrum and Sethna, arXiv:1201.5885, 2012, section 5 (from memory).
func (s *search) accelerate() float64 {
	const h = 0.1
	for k := range s.trial {
		s.trial[k] = s.at.X[k] + h*s.delta[k]
	}
	s.clip(s.trial)
	s.p.Residuals(s.trialR, s.trial)
	n := len(s.delta)
	for i, r := range s.at.Residuals {
		slope := 0.0
		for k, j := range s.at.Jacobian[i*n : (i+1)*n] {
			slope += j * s.delta[k]
		}
		s.trialR[i] = 2 / h * ((s.trialR[i]-r)/h - slope)
	}
	s.work.again(s.trialR)
	s.spread(s.bend, s.work.x)
	var bend, step float64
	for k, d := range s.scale {
		bend, step = math.Hypot(bend, d*s.bend[k]), math.Hypot(step, d*s.delta[k])
	}
	if !isFinite(bend) || step == 0 {
		clear(s.bend)
		return 0
	}
	return 2 * bend / step
}
