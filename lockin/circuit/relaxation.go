package circuit

import (
	"fmt"
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/mat"
)

// Relaxations is a sum of relaxations with fixed time constants,
//
//	Ẑ = R∞ + Σ R_k/(1 + jωτ_k)  (+ jωL + 1/(jωC))
//
// which obeys the Kramers–Kronig relations whatever the R_k, so that what it cannot
// follow did not come from a linear part that stands still.
type Relaxations struct {
	RInf         float64      // ohm
	R            []float64    // ohm, of either sign
	TauS         []float64    // seconds
	L            float64      // henry
	InverseC     float64      // 1/farad
	Mu           float64      // see RelaxationsOf
	Residuals    []complex128 // (Z − Ẑ)/|Z|
	SumOfSquares float64      // of both parts of the residuals
}

// RelaxationConfig says which terms the sum has besides the relaxations.
type RelaxationConfig struct{ Inductance, Capacitance bool }

// RelaxationsOf fits count relaxations to a sweep, weighted by 1/|Z|. Time constants
// are equally spaced on a logarithmic axis from 1/ω_max to 1/ω_min. Mu is
//
//	µ = 1 − Σ_{R_k<0}|R_k| / Σ_{R_k≥0}|R_k|
//
// near 1 with too few of them, near 0 with too many. It does not say enough by itself:
// for a part that is a few relaxations it falls while the residuals are still large.
//
// Errors: count below 1, or more unknowns than numbers in the sweep.
//
// Reference: Boukamp, 1995; µ: Schönleber and others, 2014, equation (21) (from memory).
func RelaxationsOf(freqHz []float64, z []complex128, count int, cfg RelaxationConfig) (*Relaxations, error) {
	d := &Data{FreqHz: freqHz, Z: z}
	if err := d.check(); err != nil {
		return nil, err
	}
	cols := 1 + count
	if cfg.Inductance {
		cols++
	}
	if cfg.Capacitance {
		cols++
	}
	if count < 1 || cols > 2*len(z) {
		return nil, fmt.Errorf("%w: %d relaxations for %d points; there must be at least 1 and no more than the points determine", ErrConfig, count, len(z))
	}
	m := &Relaxations{TauS: timeConstants(freqHz, count)}
	a, b := m.system(freqHz, z, cols, cfg)
	x, ok := solveLinear(a, b)
	if !ok {
		return nil, fmt.Errorf("%w: the relaxations are not determined; use fewer", ErrConfig)
	}
	m.take(x, count, cfg)
	m.leave(freqHz, z)
	return m, nil
}

func timeConstants(freqHz []float64, count int) []float64 {
	low, high := math.Inf(1), 0.0
	for _, f := range freqHz {
		low, high = min(low, 2*math.Pi*f), max(high, 2*math.Pi*f)
	}
	tau := make([]float64, count)
	for k := range tau {
		tau[k] = spread(k, count, 1/high, 1/low)
	}
	return tau
}

// system returns the rows weighted by 1/|Z|.
func (m *Relaxations) system(freqHz []float64, z []complex128, cols int, cfg RelaxationConfig) (*mat.Dense, []float64) {
	a, b := mat.NewDense(2*len(z), cols, nil), make([]float64, 2*len(z))
	for i, f := range freqHz {
		w, weight := 2*math.Pi*f, complex(1/cmplx.Abs(z[i]), 0)
		terms := []complex128{1}
		for _, tau := range m.TauS {
			terms = append(terms, 1/complex(1, w*tau))
		}
		if cfg.Inductance {
			terms = append(terms, complex(0, w))
		}
		if cfg.Capacitance {
			terms = append(terms, complex(0, -1/w))
		}
		for j, t := range terms {
			a.Set(2*i, j, real(t*weight))
			a.Set(2*i+1, j, imag(t*weight))
		}
		b[2*i], b[2*i+1] = real(z[i]*weight), imag(z[i]*weight)
	}
	return a, b
}

func (m *Relaxations) take(x []float64, count int, cfg RelaxationConfig) {
	m.RInf, m.R = x[0], x[1:1+count]
	rest := x[1+count:]
	if cfg.Inductance {
		m.L, rest = rest[0], rest[1:]
	}
	if cfg.Capacitance {
		m.InverseC = rest[0]
	}
	var up, down float64
	for _, r := range m.R {
		if r < 0 {
			down -= r
		} else {
			up += r
		}
	}
	m.Mu = math.Inf(-1) // none is positive
	if up > 0 {
		m.Mu = 1 - down/up
	}
}

// Impedance returns Ẑ in ohm.
func (m *Relaxations) Impedance(freqHz float64) complex128 {
	w := 2 * math.Pi * freqHz
	z := complex(m.RInf, w*m.L-m.InverseC/w)
	for k, r := range m.R {
		z += complex(r, 0) / complex(1, w*m.TauS[k])
	}
	return z
}

func (m *Relaxations) leave(freqHz []float64, z []complex128) {
	for i, f := range freqHz {
		r := (z[i] - m.Impedance(f)) / complex(cmplx.Abs(z[i]), 0)
		m.Residuals = append(m.Residuals, r)
		m.SumOfSquares += real(r)*real(r) + imag(r)*imag(r)
	}
}
