package fold

import "example.org/wheatear/lockin/internal/phase"

const (
	// rotateBlock samples share one rotation. Two accumulators of this length and
	// four runs of samples share the first-level cache; at twice the length the
	// accumulators are driven out and the kernel is a third slower.
	RotateBlock = 256
	// rotateSpan blocks are turned by a table from one exact phase.
	RotateSpan = 64
)

// Rotator correlates with one tone of any frequency. It folds blocks of samples
// upon each other, each block turned by the phase at its first sample:
//
//	Σ x[n]·e^(−jθn) = Σ_i e^(−jθi) Σ_b x[bL+i]·e^(−jθbL)
//
// so that inside a block the cosine and the sine are constants, and the samples'
// own phases are applied once, at the end.
type Rotator[T Sample] struct {
	step   phase.Turns // of one sample, backwards: −θ
	frames uint64
	re, im [RotateBlock]float64
	inner  [RotateBlock]complex128 // e^(−jθi)
	outer  [RotateSpan]complex128  // e^(−jθLb)
}

func NewRotator[T Sample](step phase.Turns) *Rotator[T] {
	r := &Rotator[T]{step: step.Neg()}
	phase.FillPhasors(r.inner[:], phase.Turns{}, r.step)
	phase.FillPhasors(r.outer[:], phase.Turns{}, r.step.Times(RotateBlock))
	return r
}

func (r *Rotator[T]) Reset() {
	r.frames = 0
	r.ClearSums()
}

// ClearSums begins a new sum; the phase runs on.
func (r *Rotator[T]) ClearSums() {
	clear(r.re[:])
	clear(r.im[:])
}

func (r *Rotator[T]) Add(x []T) {
	if r.frames%RotateBlock != 0 {
		x = x[r.single(x):]
	}
	for len(x) >= 4*RotateBlock {
		// Long runs, for the prefetcher; spans of them, for the phase.
		run := len(x) / (4 * RotateBlock) * RotateBlock
		for at := 0; at < run; at += RotateSpan * RotateBlock {
			r.runs(x[at:], run, min(RotateSpan*RotateBlock, run-at))
		}
		r.frames += 3 * uint64(run)
		x = x[4*run:]
	}
	for len(x) > 0 {
		x = x[r.single(x):]
	}
}

// single adds samples up to the end of the present block and returns how many.
func (r *Rotator[T]) single(x []T) int {
	at := int(r.frames % RotateBlock)
	n := min(RotateBlock-at, len(x))
	w := r.step.Times(r.frames - uint64(at)).Phasor()
	c, s := real(w), imag(w)
	re, im, x := r.re[at:][:n], r.im[at:][:n], x[:n]
	for i := range re {
		v := float64(x[i])
		re[i] += c * v
		im[i] += s * v
	}
	r.frames += uint64(n)
	return n
}

// runs adds length samples, at most a span, from each of four runs that start
// run samples apart, and advances the phase by length.
func (r *Rotator[T]) runs(x []T, run, length int) {
	var base [4]complex128
	for k := range base {
		base[k] = r.step.Times(r.frames + uint64(k*run)).Phasor()
	}
	for i, w := range r.outer[:length/RotateBlock] {
		turnRuns(r.re[:], r.im[:], x[i*RotateBlock:], run, base[0]*w, base[1]*w, base[2]*w, base[3]*w)
	}
	r.frames += uint64(length)
}

// turnRuns adds one block from each of four runs, each turned by its phasor.
func turnRuns[T Sample](re, im []float64, x []T, run int, wa, wb, wc, wd complex128) {
	n := len(re)
	im = im[:n]
	a, b, c, d := x[:n], x[run:][:n], x[2*run:][:n], x[3*run:][:n]
	ca, cb, cc, cd := real(wa), real(wb), real(wc), real(wd)
	sa, sb, sc, sd := imag(wa), imag(wb), imag(wc), imag(wd)
	for i := range re {
		va, vb, vc, vd := float64(a[i]), float64(b[i]), float64(c[i]), float64(d[i])
		re[i] += (ca*va + cb*vb) + (cc*vc + cd*vd)
		im[i] += (sa*va + sb*vb) + (sc*vc + sd*vd)
	}
}

// Sum returns Σ x[n]·e^(−jθn) over the samples so far.
func (r *Rotator[T]) Sum() complex128 {
	var s complex128
	for i, w := range r.inner {
		s += complex(r.re[i], r.im[i]) * w
	}
	return s
}
