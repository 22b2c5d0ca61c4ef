package circuit

import (
	"math"
	"math/cmplx"
)

// target is a circuit with the sweep that it is to follow. The search moves x: the
// logarithm of values that may have any size, exponents as they are.
type target struct {
	c      *Circuit
	data   *Data
	w      []float64 // rad/s
	white  *whitener
	low    []float64 // of x
	high   []float64
	bound  []bool // low and high are the caller's, not just far away
	values []float64
	diff   []complex128
	work   []complex128 // impedances of the nodes
	slopes []complex128 // points × unknowns
	column []complex128
	white1 []float64
}

func newTarget(c *Circuit, d *Data, cfg FitConfig) (*target, error) {
	white, err := newWhitener(d)
	if err != nil {
		return nil, err
	}
	n, k := len(d.FreqHz), len(c.unknowns)
	t := &target{c: c, data: d, white: white,
		w: make([]float64, n), diff: make([]complex128, n), work: make([]complex128, c.nodes),
		values: make([]float64, k), slopes: make([]complex128, n*k), column: make([]complex128, n), white1: make([]float64, 2*n)}
	for i, f := range d.FreqHz {
		t.w[i] = 2 * math.Pi * f
	}
	return t, t.setBounds(cfg)
}

// valuesOf writes the values at x.
func (t *target) valuesOf(dst, x []float64) []float64 {
	for k, u := range t.c.unknowns {
		dst[k] = x[k]
		if u.scale == positive {
			dst[k] = math.Exp(x[k])
		}
	}
	return dst
}

// xOf writes the place of values.
func (t *target) xOf(dst, values []float64) []float64 {
	for k, u := range t.c.unknowns {
		dst[k] = values[k]
		if u.scale == positive {
			dst[k] = math.Log(values[k])
		}
	}
	return dst
}

// residuals writes (model − data) in standard deviations.
func (t *target) residuals(dst, x []float64) {
	t.valuesOf(t.values, x)
	for i, w := range t.w {
		t.diff[i] = t.c.root.z(w, t.values, nil) - t.data.Z[i]
	}
	t.white.apply(dst, t.diff)
}

// jacobian writes the slopes of the residuals.
func (t *target) jacobian(dst, x []float64) {
	t.findSlopes(x)
	n, k := len(t.w), len(t.c.unknowns)
	for j := range k {
		for i := range n {
			t.column[i] = t.slopes[i*k+j]
		}
		t.white.apply(t.white1, t.column)
		for i, v := range t.white1 {
			dst[i*k+j] = v
		}
	}
}

// findSlopes finds dZ/dx for all points, and leaves Z in diff.
func (t *target) findSlopes(x []float64) {
	t.valuesOf(t.values, x)
	k := len(t.c.unknowns)
	clear(t.slopes)
	for i, w := range t.w {
		grad := t.slopes[i*k : (i+1)*k]
		t.diff[i] = t.c.root.z(w, t.values, t.work)
		t.c.root.slopes(w, t.values, t.work, grad, 1)
		for j, u := range t.c.unknowns {
			if u.scale == positive {
				grad[j] *= complex(t.values[j], 0)
			}
		}
	}
}

// logResiduals writes ln(model/data): size and phase, the same for every point. Its
// basins are wide, since a model that is far off is far off by a number, not a power.
func (t *target) logResiduals(dst, x []float64) {
	t.valuesOf(t.values, x)
	for i, w := range t.w {
		l := logRatio(t.c.root.z(w, t.values, nil), t.data.Z[i])
		dst[2*i], dst[2*i+1] = real(l), imag(l)
	}
}

// logRatio returns ln(z/of), within what a search can use: a short or open circuit is
// e^30 away.
func logRatio(z, of complex128) complex128 {
	l := cmplx.Log(z * inverse(of))
	if cmplx.IsNaN(l) || math.Abs(real(l)) > 30 {
		return complex(30, 0)
	}
	return l
}

func (t *target) logJacobian(dst, x []float64) {
	t.findSlopes(x)
	k := len(t.c.unknowns)
	for i := range t.w {
		over := inverse(t.diff[i])
		for j := range k {
			d := t.slopes[i*k+j] * over
			dst[2*i*k+j], dst[(2*i+1)*k+j] = real(d), imag(d)
		}
	}
}

// solve minimises the weighted residuals from x.
func (t *target) solve(x []float64, steps int, tolerance float64) (*Solution, error) {
	return Solve(Problem{Residuals: t.residuals, Jacobian: t.jacobian, Count: 2 * len(t.w), Start: x,
		Low: t.low, High: t.high, Steps: steps, Tolerance: tolerance})
}

// approach minimises the logarithmic residuals from x, roughly.
func (t *target) approach(x []float64) (*Solution, error) {
	return Solve(Problem{Residuals: t.logResiduals, Jacobian: t.logJacobian, Count: 2 * len(t.w), Start: x,
		Low: t.low, High: t.high, Steps: 30, Tolerance: 1e-4})
}
