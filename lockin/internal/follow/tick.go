package follow

import "math/cmplx"

// tick gathers about a cycle of the reference: its samples, their squares, and their
// products with the oscillator.
type tick struct {
	sum, square, re, im float64
}

// add takes frames in turn, one sum in one chain each, so that it does not matter how
// they are cut.
func (t *tick) add(x, re, im []float64) {
	re, im = re[:len(x)], im[:len(x)]
	a, b, c, d := t.sum, t.square, t.re, t.im
	for i, v := range x {
		a += v
		b += v * v
		c += v * re[i]
		d += v * im[i]
	}
	*t = tick{a, b, c, d}
}

// phasor returns the tone's, relative to the oscillator, over n frames that began at
// start = exp(−jφ) with by in a frame and end behind the last. A tick that is not quite
// a cycle leaves in the mean some of the offset and of the tone's mirror image
// conj(R)·exp(−2jφ); both shares are geometric sums, and are taken out.
func (t *tick) phasor(n int, start, by, end complex128) complex128 {
	share := complex(1/float64(n), 0)
	once := share * (start - end) / (1 - by)
	twice := share * (start*start - end*end) / (1 - by*by)
	m := 2 * share * (complex(t.re, t.im) - complex(t.sum, 0)*once)
	return (m - twice*cmplx.Conj(m)) / complex(1-real(twice)*real(twice)-imag(twice)*imag(twice), 0)
}
