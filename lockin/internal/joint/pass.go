package joint

import (
	"example.org/wheatear/lockin/internal/num"
	"math"
	"math/cmplx"
)

// fitPass is one walk over the record: it takes the model away from the samples
// and projects what is left on every line, block by block with one rotation of
// phase per block and line and a table of the turns within a block.
//
// A block is folded about its middle into sums and differences of sample pairs: a
// line's cosine then meets only the sums and its sine only the differences, which
// halves the work.
type fitPass struct {
	m      *Model
	frames int
	length int            // of a block
	table  [][2][]float64 // per line: cos and sin at ½, 1½, 2½ … samples from the middle

	sum, dif []float64 // a block folded about its middle

	proj     [][]complex128 // Σ r exp(-jφ), [channel][line]
	proj1    [][]complex128 // the same weighted with t
	proj2    [][]complex128 // the same weighted with t² - mean t²
	polyProj [][]float64    // Σ r P_p

	turn      []complex128 // exp(jφ) of each line in the middle of the block
	step      []complex128 // what takes it to the next block
	bend      []complex128 // what takes the step to the next: drift of the mains
	powerProj [][3]float64 // Σ r τ^p
}

func newFitPass(m *Model, frames, channels int) *fitPass {
	p := &fitPass{m: m, frames: frames, length: m.blockFrames()}
	p.table = make([][2][]float64, len(m.Lines))
	p.sum, p.dif = make([]float64, p.length/2), make([]float64, p.length/2)
	for l := range p.table {
		p.table[l] = [2][]float64{make([]float64, p.length/2), make([]float64, p.length/2)}
	}
	p.turn, p.step, p.bend = make([]complex128, len(m.Lines)), make([]complex128, len(m.Lines)), make([]complex128, len(m.Lines))
	p.powerProj = make([][3]float64, channels)
	for ch := 0; ch < channels; ch++ {
		p.proj = append(p.proj, make([]complex128, len(m.Lines)))
		p.proj1 = append(p.proj1, make([]complex128, len(m.Lines)))
		p.proj2 = append(p.proj2, make([]complex128, len(m.Lines)))
		p.polyProj = append(p.polyProj, make([]float64, m.Degree+1))
	}
	return p
}

// run writes f.residual = x - model and, where project is set, the projections. What is
// skipped leaves no residual.
func (p *fitPass) run(f *Fit, x [][]float64, project bool) {
	p.prepare(f)
	if p.m.Skip == 0 {
		p.half(f, x, 0, p.frames, project)
	} else {
		p.halves(f, x, project)
	}
	for ch := range p.polyProj {
		fromPowers(p.polyProj[ch], p.powerProj[ch])
	}
}

func (p *fitPass) halves(f *Fit, x [][]float64, project bool) {
	skipped, after := (p.frames-p.m.Skip)/2, (p.frames+p.m.Skip)/2
	p.half(f, x, 0, skipped, project)
	p.half(f, x, after, p.frames, project)
	for _, r := range f.Residual {
		clear(r[skipped:after])
	}
}

// half walks over the frames from one up to another.
func (p *fitPass) half(f *Fit, x [][]float64, from, to int, project bool) {
	carried := 0
	for first := from; first < to; {
		end := min((first/p.length+1)*p.length, to)
		next := end
		if odd := (end - first) % 2; odd == 1 {
			end--
			p.aim(end, end+1)
			p.block(f, x, end, end+1, project)
			carried = 0
		}
		if carried%carriedBlocks != 0 && end-first == p.length {
			p.carry()
			carried++
		} else {
			p.aim(first, end)
			carried = 0
			if end-first == p.length {
				carried = 1
			}
		}
		if end > first {
			p.block(f, x, first, end, project)
		}
		first = next
	}
}

// block does one stretch of an even number of frames, or of a single one.
func (p *fitPass) block(f *Fit, x [][]float64, first, end int, project bool) {
	middle := float64(first+end-1) / 2
	t := p.timeS(middle)
	w := t*t - num.Sq(float64(p.frames)/p.m.RateHz)/12
	half := (end - first + 1) / 2
	weight := complex(1, 0)
	if end-first == 1 { // a pair with itself
		weight = 0.5
	}
	sum, dif := p.sum[:half], p.dif[:half]
	for ch := range x {
		r := f.Residual[ch][first:end]
		p.takePoly(f.power[ch], r, x[ch][first:end], first)
		foldPairs(sum, dif, r)
		p.takeLines(sum, dif, f.Amp[ch], end-first)
		unfoldPairs(r, sum, dif)
		if !project {
			continue
		}
		p.projectPoly(&p.powerProj[ch], r, first)
		for l, turn := range p.turn {
			g := projectPairs(sum, dif, p.tableFor(l, end-first)) * cmplx.Conj(turn) * weight
			p.proj[ch][l] += g
			p.proj1[ch][l] += g * complex(t, 0)
			p.proj2[ch][l] += g * complex(w, 0)
		}
	}
}

// Phases are carried from block to block by a rotation, and taken anew after so many:
// what rounding adds in between is below 1e-13.
const carriedBlocks = 32

// aim sets the phases for a block.
func (p *fitPass) aim(first, end int) {
	t := p.timeS(float64(first+end-1) / 2)
	next := t + float64(p.length)/p.m.RateHz
	for l := range p.turn {
		p.turn[l] = p.phase(l, t)
		p.step[l] = p.phase(l, next) * cmplx.Conj(p.turn[l])
		if t > 0 && p.m.Lines[l].Turned {
			p.turn[l] = -p.turn[l]
		}
	}
}

// carry takes the phases to the next block.
func (p *fitPass) carry() {
	for l := range p.turn {
		p.turn[l] *= p.step[l]
		p.step[l] *= p.bend[l]
	}
}

// tableFor returns the turns of line l for a block of that many frames.
func (p *fitPass) tableFor(l, frames int) [2][]float64 {
	if frames == 1 {
		return [2][]float64{{1}, {0}}
	}
	return p.table[l]
}

// foldPairs sums and subtracts the samples on both sides of the middle of r, the
// innermost first. A single sample is its own pair.
func foldPairs(sum, dif, r []float64) {
	if len(r) == 1 {
		sum[0], dif[0] = 2*r[0], 0
		return
	}
	half := len(r) / 2
	left, right := r[:half], r[half:]
	for k := range right {
		a, b := right[k], left[half-1-k]
		sum[k], dif[k] = a+b, a-b
	}
}

func unfoldPairs(r, sum, dif []float64) {
	if len(r) == 1 {
		r[0] = sum[0] / 2
		return
	}
	half := len(r) / 2
	for k := range sum {
		r[half+k] = (sum[k] + dif[k]) / 2
		r[half-1-k] = (sum[k] - dif[k]) / 2
	}
}

// prepare fills the tables for the present frequencies and clears the sums.
func (p *fitPass) prepare(f *Fit) {
	for l, ln := range p.m.Lines {
		turns := p.m.FreqHz(ln) / p.m.RateHz
		for k := range p.table[l][0] {
			sin, cos := math.Sincos(2 * math.Pi * turns * (float64(k) + 0.5))
			p.table[l][0][k], p.table[l][1][k] = cos, sin
		}
		p.bend[l] = 1
		if ln.Mains {
			sin, cos := math.Sincos(2 * math.Pi * ln.Base * p.m.chirp * num.Sq(float64(p.length)/p.m.RateHz))
			p.bend[l] = complex(cos, sin)
		}
	}
	for ch := range p.proj {
		clear(p.proj[ch])
		clear(p.proj1[ch])
		clear(p.proj2[ch])
		p.powerProj[ch] = [3]float64{}
		f.power[ch] = toPowers(f.Poly[ch])
	}
}

// timeS returns the time of frame n, counted from the middle of the stretch.
func (p *fitPass) timeS(frame float64) float64 {
	return (frame - float64(p.frames-1)/2) / p.m.RateHz
}

// phase returns exp(jφ) of line l at time t, the middle of a block. Within a block a
// drifting line turns as fast as in the middle of the stretch.
func (p *fitPass) phase(l int, t float64) complex128 {
	ln := p.m.Lines[l]
	turns := p.m.FreqHz(ln) * t
	if ln.Mains && p.m.chirp != 0 {
		turns += ln.Base * p.m.chirp / 2 * (t*t - num.Sq(float64(p.frames)/p.m.RateHz)/12)
	}
	s, c := math.Sincos(2 * math.Pi * (turns - math.Round(turns)))
	return complex(c, s)
}

// takeLines subtracts all lines of a channel from a folded block, two at a time: that
// halves the traffic with the samples.
func (p *fitPass) takeLines(sum, dif []float64, amp []complex128, frames int) {
	l := 0
	for ; l+1 < len(amp); l += 2 {
		takeTwo(sum, dif, p.tableFor(l, frames), p.tableFor(l+1, frames), amp[l]*p.turn[l], amp[l+1]*p.turn[l+1])
	}
	if l < len(amp) {
		takeTwo(sum, dif, p.tableFor(l, frames), p.tableFor(l, frames), amp[l]*p.turn[l], 0)
	}
}

// takeTwo subtracts Re(a exp(jωk)) of two lines, folded, from sums and differences.
func takeTwo(sum, dif []float64, table, table2 [2][]float64, a, a2 complex128) {
	u, v, u2, v2 := 2*real(a), 2*imag(a), 2*real(a2), 2*imag(a2)
	n := len(sum)
	c, s, c2, s2 := table[0][:n], table[1][:n], table2[0][:n], table2[1][:n]
	dif = dif[:n]
	for k := range sum {
		sum[k] -= u*c[k] + u2*c2[k]
		dif[k] += v*s[k] + v2*s2[k]
	}
}

// projectPairs returns Σ r exp(-jωk) over a folded block.
func projectPairs(sum, dif []float64, table [2][]float64) complex128 {
	c, s := table[0][:len(sum)], table[1][:len(sum)]
	dif = dif[:len(sum)]
	var c0, c1, s0, s1 float64
	k := 0
	for ; k+1 < len(sum); k += 2 {
		c0 += sum[k] * c[k]
		s0 += dif[k] * s[k]
		c1 += sum[k+1] * c[k+1]
		s1 += dif[k+1] * s[k+1]
	}
	if k < len(sum) {
		c0 += sum[k] * c[k]
		s0 += dif[k] * s[k]
	}
	return complex(c0+c1, -(s0 + s1))
}

// The slow part is P0, P1, P2 of τ = 2t/T to the normal equations and a plain power
// series to the samples.

// toPowers returns the coefficients of 1, τ, τ² of a Legendre series.
func toPowers(c []float64) [3]float64 {
	var l [3]float64
	copy(l[:], c)
	return [3]float64{l[0] - l[2]/2, l[1], 1.5 * l[2]}
}

// fromPowers turns sums over 1, τ, τ² into sums over the Legendre polynomials.
func fromPowers(dst []float64, p [3]float64) {
	l := [3]float64{p[0], p[1], (3*p[2] - p[0]) / 2}
	copy(dst, l[:])
}

// takePoly sets r to x less the power series.
func (p *fitPass) takePoly(c [3]float64, r, x []float64, first int) {
	start, step := p.tau(first)
	for k, v := range x {
		tau := start + step*float64(k)
		r[k] = v - (c[0] + tau*(c[1]+tau*c[2]))
	}
}

// projectPoly adds Σ r, Σ rτ, Σ rτ² over a block.
func (p *fitPass) projectPoly(dst *[3]float64, r []float64, first int) {
	if p.m.Degree < 0 {
		return
	}
	start, step := p.tau(first)
	var s0, s1, s2 float64 // over k, turned into powers of tau below
	for k, v := range r {
		s0 += v
		s1 += v * float64(k)
		s2 += v * float64(k) * float64(k)
	}
	dst[0] += s0
	dst[1] += start*s0 + step*s1
	dst[2] += start*start*s0 + 2*start*step*s1 + step*step*s2
}

// tau returns τ at a frame and its step.
func (p *fitPass) tau(first int) (tau, step float64) {
	step = 2 / float64(p.frames)
	return p.timeS(float64(first)) * p.m.RateHz * step, step
}
