package virtual

import (
	"fmt"
	"math/cmplx"
)

// A network with elements that are not linear is stepped through in substeps of a
// sample interval, block of them at a time. Within a block, what an element gives is
// the polynomial through its values at the beginning and at the end of every step, and
// an element that stores integrates the same polynomial of what it sees. At a small
// level that leaves about 2/945·(2πf/(16·rate))⁶ of the fundamental (the error of Boole's
// rule), 5e-8 at 0.42 of the rate; the linear part is exact as always. The method is that of H. A. Watts and L. F.
// Shampine, "A-stable block implicit one-step methods", BIT 12 (1972) 252 (from
// memory): it is A-stable for blocks of up to eight steps.
const (
	substeps = 16
	block    = 4 // a divisor of substeps
)

// local is the degree plus one to which the drive is taken in each step.
const local = 4

// along[k][j] is the weight of node j in the integral from the beginning of a block to
// node k+1, in steps.
var along = func() (a [block][block + 1]float64) {
	for k := range a {
		for step := range k + 1 {
			for q, x := range gaussNodes {
				for j := range a[k] {
					a[k][j] += gaussWeights[q] / 2 * through(j, float64(step)+(x+1)/2)
				}
			}
		}
	}
	return a
}()

// through is the polynomial that is 1 at node j of a block and 0 at all others.
func through(j int, at float64) float64 {
	p := 1.0
	for i := range block + 1 {
		if i != j {
			p *= (at - float64(i)) / float64(j-i)
		}
	}
	return p
}

// nonlinearSolver steps through a network with such elements.
type nonlinearSolver struct {
	ports  int
	modes  []smallMode
	direct [][]float64 // [output][input], the outputs and then the ports
	cut    [substeps][local][basis]float64

	// By node and port; those of the beginning of a block by port.
	w, seen, given, ahead []float64
	firstSeen, firstGiven []float64
	free                  [block]frame   // the outputs if all elements gave nothing new
	answer                [2][][]float64 // of an output at a node to what is given: [output][node]
	newton                newton
	decimate              *decimator
}

// smallMode is a mode for one step. A pair of conjugate modes has imaginary parts,
// a single one has none. The signs in outIm are those of Re ρx.
type smallMode struct {
	pair             bool
	re, im           float64
	decayRe, decayIm float64
	driveRe, driveIm [local]float64
	outRe, outIm     [2 + maxPorts]float64
	// Weights of what the elements give: at the beginning of the block on each step, and
	// at its nodes, node and port, on the end of the block.
	oldRe, oldIm [block][maxPorts]float64
	newRe, newIm []float64
}

func newNonlinearSolver(m *modes, elements []element, h float64) *nonlinearSolver {
	ports := len(elements)
	size := block * ports
	h /= substeps
	of := func(n int) []float64 { return make([]float64, n) }
	s := &nonlinearSolver{ports: ports, direct: m.direct, cut: cuts(), decimate: newDecimator(),
		w: of(size), seen: of(size), given: of(size), ahead: of(size), firstSeen: of(ports), firstGiven: of(ports)}
	slope := make([][]float64, size)
	for i := range slope {
		slope[i] = of(size)
	}
	for o := range s.answer {
		s.answer[o] = make([][]float64, block)
		for k := range s.answer[o] {
			s.answer[o][k] = of(size)
		}
	}
	row := func(o, k int) []float64 {
		if o < 2 {
			return s.answer[o][k]
		}
		return slope[k*ports+o-2]
	}
	for o := range 2 + ports {
		for k := range block {
			for r := range ports {
				row(o, k)[k*ports+r] += m.direct[o][1+r]
			}
		}
	}
	for i := range m.lambda {
		s.modes = append(s.modes, m.small(i, ports, h, row))
	}
	s.newton = newNewton(elements, slope, h)
	return s
}

// small takes a mode apart for steps of h seconds, and adds to row(output, node) how
// that output answers there to what the elements give.
func (m *modes) small(i, ports int, h float64, row func(o, k int) []float64) smallMode {
	in := moments(m.lambda[i], h)
	decay := cmplx.Exp(m.lambda[i] * complex(h, 0))
	s := smallMode{pair: imag(m.lambda[i]) != 0, decayRe: real(decay), decayIm: imag(decay), newRe: make([]float64, block*ports), newIm: make([]float64, block*ports)}
	for a := range s.driveRe {
		d := in[a] * m.beta[i][0]
		s.driveRe[a], s.driveIm[a] = real(d), imag(d)
	}
	for o, rho := range m.rho[i] {
		s.outRe[o], s.outIm[o] = real(rho), -imag(rho)
	}
	state := make([]complex128, block*ports) // at the end of a step, by what is given at the nodes
	for k := range block {
		for j := range block + 1 {
			shape := polynomial(j, k, in)
			for r := range ports {
				v := shape * m.beta[i][1+r]
				if j == 0 {
					s.oldRe[k][r], s.oldIm[k][r] = real(v), imag(v)
					continue
				}
				state[(j-1)*ports+r] = decay*state[(j-1)*ports+r] + v
			}
		}
		for o, rho := range m.rho[i] {
			for j, v := range state {
				row(o, k)[j] += real(rho * v)
			}
		}
	}
	for j, v := range state {
		s.newRe[j], s.newIm[j] = real(v), imag(v)
	}
	return s
}

// polynomial is what a mode with the moments in makes, in step k of a block, of the
// polynomial through node j.
func polynomial(j, k int, in [basis]complex128) (sum complex128) {
	var p [block + 1]float64
	for q, x := range gaussNodes {
		legendre(p[:], x)
		v := through(j, float64(k)+(x+1)/2)
		for a, pa := range p {
			sum += complex(gaussWeights[q]*(float64(a)+0.5)*v*pa, 0) * in[a]
		}
	}
	return sum
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

// step makes all blocks of an interval.
func (s *nonlinearSolver) step(c *coeffs, _ float64) (frame, error) {
	for first := 0; first < substeps; first += block {
		for k := range block {
			s.advance(c, first, k)
		}
		s.guess()
		if !s.newton.solve(s.w, s.seen, s.given, s.ahead, s.firstSeen) {
			return frame{}, fmt.Errorf("virtual: the part cannot be solved at this level: its elements are at %.3g", s.w)
		}
		for i := range s.modes {
			s.modes[i].finish(s.given)
		}
		for k, y := range s.free {
			for o := range y {
				for j, v := range s.given {
					y[o] += s.answer[o][k][j] * v
				}
			}
			s.decimate.push(y)
		}
		end := len(s.given) - s.ports
		copy(s.firstGiven, s.given[end:])
		copy(s.firstSeen, s.seen[end:])
	}
	return s.decimate.sum(), nil
}

// advance goes to node k+1 with the drive and what the elements gave at the beginning
// of the block.
func (s *nonlinearSolver) advance(c *coeffs, first, k int) {
	var d [local]float64
	end := 0.0
	for a := range d {
		d[a] = (*coeffs)(&s.cut[first+k][a]).dot(c)
		end += d[a] // every P_a(1) is 1
	}
	for i := range s.modes {
		s.modes[i].advance(&d, &s.modes[i].oldRe[k], &s.modes[i].oldIm[k], s.firstGiven)
	}
	for o := range s.free[k] {
		s.free[k][o] = s.output(o, end)
	}
	for q := range s.ports {
		s.ahead[k*s.ports+q] = s.output(2+q, end)
	}
}

// guess carries w on along the line of the last two nodes.
func (s *nonlinearSolver) guess() {
	end := len(s.w) - s.ports
	for q := range s.ports {
		v, slope := s.w[end+q], s.w[end+q]-s.w[end-s.ports+q]
		for k := range block {
			s.w[k*s.ports+q] = v + float64(k+1)*slope
		}
	}
}

// output is one of the network's, without what the elements give in this block.
func (s *nonlinearSolver) output(o int, end float64) float64 {
	y := s.direct[o][0] * end
	for i := range s.modes {
		m := &s.modes[i]
		y += m.outRe[o] * m.re
		if m.pair {
			y += m.outIm[o] * m.im
		}
	}
	return y
}

// advance makes a step with the drive and what the elements gave.
func (m *smallMode) advance(d *[local]float64, oldRe, oldIm *[maxPorts]float64, given []float64) {
	re := m.driveRe[0]*d[0] + m.driveRe[1]*d[1] + m.driveRe[2]*d[2] + m.driveRe[3]*d[3]
	for r, v := range given {
		re += oldRe[r] * v
	}
	if !m.pair {
		m.re = m.decayRe*m.re + re
		return
	}
	im := m.driveIm[0]*d[0] + m.driveIm[1]*d[1] + m.driveIm[2]*d[2] + m.driveIm[3]*d[3]
	for r, v := range given {
		im += oldIm[r] * v
	}
	m.re, m.im = m.decayRe*m.re-m.decayIm*m.im+re, m.decayRe*m.im+m.decayIm*m.re+im
}

// finish adds at the end of a block what the elements give in it.
func (m *smallMode) finish(given []float64) {
	for j, v := range given {
		m.re += m.newRe[j] * v
	}
	if m.pair {
		for j, v := range given {
			m.im += m.newIm[j] * v
		}
	}
}
