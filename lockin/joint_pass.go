package lockin

import "math"

// fitPass is one walk over the record: it takes the model away from the samples
// and projects what is left on every line, block by block with one rotation of
// phase per block and line and a table of the turns within a block.
type fitPass struct {
	m      *jointModel
	frames int
	table  [][2][]float64 // per line: cos and sin within a block

	proj     [][]complex128 // Σ r exp(-jφ), [channel][line]
	proj1    [][]complex128 // the same weighted with t
	proj2    [][]complex128 // the same weighted with t² - mean t²
	polyProj [][]float64    // Σ r P_p
}

func newFitPass(m *jointModel, frames, channels int) *fitPass {
	p := &fitPass{m: m, frames: frames}
	p.table = make([][2][]float64, len(m.lines))
	for ch := 0; ch < channels; ch++ {
		p.proj = append(p.proj, make([]complex128, len(m.lines)))
		p.proj1 = append(p.proj1, make([]complex128, len(m.lines)))
		p.proj2 = append(p.proj2, make([]complex128, len(m.lines)))
		p.polyProj = append(p.polyProj, make([]float64, m.degree+1))
	}
	return p
}

// run writes f.residual = x - model and, where project is set, the projections.
func (p *fitPass) run(f *jointFit, x [][]float64, project bool) {
	p.prepare()
	meanSquare := sq(float64(p.frames)/p.m.rateHz) / 12
	for first := 0; first < p.frames; first += fitBlock {
		end := min(first+fitBlock, p.frames)
		for ch := range x {
			copy(f.residual[ch][first:end], x[ch][first:end])
			p.takePoly(f.poly[ch], f.residual[ch][first:end], first)
		}
		t := p.timeS(float64(first+end-1) / 2)
		for l := range p.m.lines {
			c, s := p.phase(l, first)
			for ch := range x {
				if a := f.amp[ch][l]; a != 0 {
					u, v := real(a)*c-imag(a)*s, real(a)*s+imag(a)*c
					takeLine(f.residual[ch][first:end], p.table[l], u, v)
				}
			}
		}
		if !project {
			continue
		}
		for ch := range x {
			r := f.residual[ch][first:end]
			p.projectPoly(p.polyProj[ch], r, first)
			for l := range p.m.lines {
				c, s := p.phase(l, first)
				g := projectLine(r, p.table[l]) * complex(c, -s)
				p.proj[ch][l] += g
				p.proj1[ch][l] += g * complex(t, 0)
				p.proj2[ch][l] += g * complex(t*t-meanSquare, 0)
			}
		}
	}
}

// prepare fills the tables for the present frequencies and clears the sums.
func (p *fitPass) prepare() {
	for l, ln := range p.m.lines {
		p.table[l] = turnTable(p.m.freqHz(ln)/p.m.rateHz, fitBlock)
	}
	for ch := range p.proj {
		clear(p.proj[ch])
		clear(p.proj1[ch])
		clear(p.proj2[ch])
		clear(p.polyProj[ch])
	}
}

// timeS returns the time of frame n, counted from the middle of the stretch.
func (p *fitPass) timeS(frame float64) float64 {
	return (frame - float64(p.frames-1)/2) / p.m.rateHz
}

// phase returns cosine and sine of the phase of line l at frame first. A drifting
// line turns, within the block, as fast as in the middle of the stretch; its phase
// is therefore set right in the middle of the block and carried back to its start.
func (p *fitPass) phase(l, first int) (cos, sin float64) {
	ln := p.m.lines[l]
	turns := p.m.freqHz(ln) * p.timeS(float64(first))
	if ln.mains && p.m.chirp != 0 {
		mid := p.timeS(float64(first) + float64(fitBlock-1)/2)
		turns += ln.base * p.m.chirp / 2 * (mid*mid - sq(float64(p.frames)/p.m.rateHz)/12)
	}
	s, c := math.Sincos(2 * math.Pi * (turns - math.Round(turns)))
	return c, s
}

// takeLine subtracts u cos - v sin of the block's table from r.
func takeLine(r []float64, table [2][]float64, u, v float64) {
	c, s := table[0][:len(r)], table[1][:len(r)]
	for k := range r {
		r[k] -= u*c[k] - v*s[k]
	}
}

// projectLine returns Σ r exp(-jωk) over the block.
func projectLine(r []float64, table [2][]float64) complex128 {
	c, s := table[0][:len(r)], table[1][:len(r)]
	var c0, c1, s0, s1 float64
	k := 0
	for ; k+1 < len(r); k += 2 {
		c0 += r[k] * c[k]
		s0 += r[k] * s[k]
		c1 += r[k+1] * c[k+1]
		s1 += r[k+1] * s[k+1]
	}
	if k < len(r) {
		c0 += r[k] * c[k]
		s0 += r[k] * s[k]
	}
	return complex(c0+c1, -(s0 + s1))
}

// legendre returns P_0 … P_3 at tau; the polynomials never go beyond degree 3.
func legendre(tau float64) [4]float64 {
	t2 := tau * tau
	return [4]float64{1, tau, (3*t2 - 1) / 2, tau * (5*t2 - 3) / 2}
}

func (p *fitPass) takePoly(c []float64, r []float64, first int) {
	if len(c) == 0 {
		return
	}
	scale := 2 * p.m.rateHz / float64(p.frames)
	for k := range r {
		v := legendre(p.timeS(float64(first+k)) * scale)
		for i, ci := range c {
			r[k] -= ci * v[i]
		}
	}
}

func (p *fitPass) projectPoly(dst []float64, r []float64, first int) {
	if len(dst) == 0 {
		return
	}
	scale := 2 * p.m.rateHz / float64(p.frames)
	for k := range r {
		v := legendre(p.timeS(float64(first+k)) * scale)
		for i := range dst {
			dst[i] += r[k] * v[i]
		}
	}
}

func sq(x float64) float64 { return x * x }
