package virtual

import "math/cmplx"

// frame is one sample of each of the two channels.
type frame [2]float64

// solver carries the state of a network from one sample to the next.
type solver interface {
	// step goes to the end of an interval: c is the drive within, u its value at the
	// end. It returns the two outputs there.
	step(c *coeffs, u float64) (frame, error)
}

// linearSolver steps through whole sample intervals. For the given form of the
// drive between the samples it is exact: no step size enters.
type linearSolver struct {
	real   []realMode
	pair   []pairMode
	direct frame
}

// realMode is a mode with a real natural frequency.
type realMode struct {
	x, decay float64
	in       coeffs
	out      frame
}

// pairMode is a pair of conjugate modes; outIm already has the sign of its part in
// Re ρx = Re ρ Re x - Im ρ Im x.
type pairMode struct {
	xRe, xIm, decayRe, decayIm float64
	inRe, inIm                 coeffs
	outRe, outIm               frame
}

func newLinearSolver(m *modes, h float64) *linearSolver {
	s := &linearSolver{direct: frame{m.direct[0][0], m.direct[1][0]}}
	for i, l := range m.lambda {
		in := moments(l, h)
		rho := [2]complex128{m.rho[i][0] * m.beta[i][0], m.rho[i][1] * m.beta[i][0]}
		decay := cmplx.Exp(l * complex(h, 0))
		if imag(l) == 0 {
			r := realMode{decay: real(decay), out: frame{real(rho[0]), real(rho[1])}}
			for j, v := range in {
				r.in[j] = real(v)
			}
			s.real = append(s.real, r)
			continue
		}
		p := pairMode{decayRe: real(decay), decayIm: imag(decay),
			outRe: frame{real(rho[0]), real(rho[1])}, outIm: frame{-imag(rho[0]), -imag(rho[1])}}
		for j, v := range in {
			p.inRe[j], p.inIm[j] = real(v), imag(v)
		}
		s.pair = append(s.pair, p)
	}
	return s
}

func (s *linearSolver) step(c *coeffs, u float64) (frame, error) {
	y := frame{s.direct[0] * u, s.direct[1] * u}
	for i := range s.real {
		m := &s.real[i]
		m.x = m.decay*m.x + m.in.dot(c)
		y[0] += m.out[0] * m.x
		y[1] += m.out[1] * m.x
	}
	for i := range s.pair {
		m := &s.pair[i]
		re := m.decayRe*m.xRe - m.decayIm*m.xIm + m.inRe.dot(c)
		im := m.decayRe*m.xIm + m.decayIm*m.xRe + m.inIm.dot(c)
		m.xRe, m.xIm = re, im
		y[0] += m.outRe[0]*re + m.outIm[0]*im
		y[1] += m.outRe[1]*re + m.outIm[1]*im
	}
	return y, nil
}

func (c *coeffs) dot(d *coeffs) float64 {
	var even, odd float64
	for j := 0; j < basis; j += 2 {
		even += c[j] * d[j]
		odd += c[j+1] * d[j+1]
	}
	return even + odd
}
