package virtual

import (
	"fmt"
	"math/cmplx"
)

// substeps is the number of steps in a sample interval of a network with elements
// that are not linear. What those elements give is taken as linear in each step:
// at a frequency f the fundamental is off by about (2πf/(16·rate))²/12, 1e-4 at a
// tenth of the rate and 5e-4 at a fifth. The linear part is exact as always.
const substeps = 16

// local is the degree plus one to which the drive is taken in each step.
const local = 4

// nonlinearSolver steps through a network with such elements.
type nonlinearSolver struct {
	ports  int
	modes  []smallMode
	direct [][]float64 // [output][input], the outputs and then the ports
	cut    [substeps][local][basis]float64

	w, seen, given []float64 // per port, at the end of the last step
	ahead          []float64 // what a port would see if all elements gave nothing new
	newton         newton
	decimate       *decimator
}

// smallMode is a mode for one step. A pair of conjugate modes has imaginary parts,
// a single one has none. The signs in outIm are those of Re ρx.
type smallMode struct {
	pair             bool
	re, im           float64
	decayRe, decayIm float64
	driveRe, driveIm [local]float64
	oldRe, oldIm     [maxPorts]float64 // weights of the elements at the beginning of a step
	newRe, newIm     [maxPorts]float64 // and at its end
	outRe, outIm     [2 + maxPorts]float64
}

func newNonlinearSolver(m *modes, elements []element, h float64) *nonlinearSolver {
	ports := len(elements)
	h /= substeps
	s := &nonlinearSolver{ports: ports, direct: m.direct, cut: cuts(), decimate: newDecimator(),
		w: make([]float64, ports), seen: make([]float64, ports), given: make([]float64, ports), ahead: make([]float64, ports)}
	for i := range m.lambda {
		s.modes = append(s.modes, m.small(i, ports, h))
	}
	slope := make([][]float64, ports) // of what port q sees by what element r gives at the end
	for q := range slope {
		slope[q] = make([]float64, ports)
		for r := range ports {
			slope[q][r] = m.direct[2+q][1+r]
			for i := range s.modes {
				mode := &s.modes[i]
				slope[q][r] += mode.outRe[2+q]*mode.newRe[r] + mode.outIm[2+q]*mode.newIm[r]
			}
		}
	}
	s.newton = newNewton(elements, slope, h)
	return s
}

// small takes a mode apart for steps of h seconds.
func (m *modes) small(i, ports int, h float64) smallMode {
	in := moments(m.lambda[i], h)
	decay := cmplx.Exp(m.lambda[i] * complex(h, 0))
	s := smallMode{pair: imag(m.lambda[i]) != 0, decayRe: real(decay), decayIm: imag(decay)}
	for a := range s.driveRe {
		d := in[a] * m.beta[i][0]
		s.driveRe[a], s.driveIm[a] = real(d), imag(d)
	}
	for r := range ports { // what falls and what rises along a straight line
		o, n := (in[0]-in[1])/2*m.beta[i][1+r], (in[0]+in[1])/2*m.beta[i][1+r]
		s.oldRe[r], s.oldIm[r], s.newRe[r], s.newIm[r] = real(o), imag(o), real(n), imag(n)
	}
	for o, rho := range m.rho[i] {
		s.outRe[o], s.outIm[o] = real(rho), -imag(rho)
	}
	return s
}

// cuts gives the Legendre coefficients of each step from those of the interval.
func cuts() (c [substeps][local][basis]float64) {
	var outer [basis]float64
	var inner [local]float64
	for m := range c {
		for q, x := range gaussNodes {
			legendre(outer[:], 2*(float64(m)+(x+1)/2)/substeps-1)
			legendre(inner[:], x)
			for a := range c[m] {
				for j, v := range outer {
					c[m][a][j] += gaussWeights[q] * (float64(a) + 0.5) * inner[a] * v
				}
			}
		}
	}
	return c
}

// step makes all steps of an interval.
func (s *nonlinearSolver) step(c *coeffs, _ float64) (frame, error) {
	for m := range substeps {
		var d [local]float64
		end := 0.0
		for a := range d {
			d[a] = (*coeffs)(&s.cut[m][a]).dot(c)
			end += d[a] // every P_a(1) is 1
		}
		for i := range s.modes {
			s.modes[i].advance(&d, s.given)
		}
		for q := range s.ahead {
			s.ahead[q] = s.output(2+q, end, nil)
		}
		if !s.newton.solve(s.w, s.seen, s.given, s.ahead) {
			return frame{}, fmt.Errorf("virtual: the part cannot be solved at this level: its elements are at %.3g", s.w)
		}
		for i := range s.modes {
			s.modes[i].finish(s.given)
		}
		s.decimate.push(frame{s.output(0, end, s.given), s.output(1, end, s.given)})
	}
	return s.decimate.sum(), nil
}

// output is one of the network's, with what the elements give at once.
func (s *nonlinearSolver) output(o int, end float64, given []float64) float64 {
	y := s.direct[o][0] * end
	for r, v := range given {
		y += s.direct[o][1+r] * v
	}
	for i := range s.modes {
		m := &s.modes[i]
		y += m.outRe[o] * m.re
		if m.pair {
			y += m.outIm[o] * m.im
		}
	}
	return y
}

// advance makes a step with the drive and what the elements gave at its beginning.
func (m *smallMode) advance(d *[local]float64, given []float64) {
	re := m.driveRe[0]*d[0] + m.driveRe[1]*d[1] + m.driveRe[2]*d[2] + m.driveRe[3]*d[3]
	for r, v := range given {
		re += m.oldRe[r] * v
	}
	if !m.pair {
		m.re = m.decayRe*m.re + re
		return
	}
	im := m.driveIm[0]*d[0] + m.driveIm[1]*d[1] + m.driveIm[2]*d[2] + m.driveIm[3]*d[3]
	for r, v := range given {
		im += m.oldIm[r] * v
	}
	m.re, m.im = m.decayRe*m.re-m.decayIm*m.im+re, m.decayRe*m.im+m.decayIm*m.re+im
}

// finish adds what the elements give at the end of the step.
func (m *smallMode) finish(given []float64) {
	for r, v := range given {
		m.re += m.newRe[r] * v
		m.im += m.newIm[r] * v
	}
}
