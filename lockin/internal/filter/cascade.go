package filter

import "math"

// cascade runs the sections frame by frame, behind an average over whole cycles or
// none: for outputs so dense that blocks would be too short to be worth it.
type cascade struct {
	poles Poles
	every int64
	refs  int
	re    [][MostPoles]float64
	im    [][MostPoles]float64
	means []slidingMean // of each phasor; nil without an average
}

// ShortestBlock is the output interval below which sections run frame by frame.
const ShortestBlock = 8

// NewCascade returns sections that run frame by frame. mean[r] is how many frames
// reference r is averaged over before them; nil is none.
func NewCascade(p Poles, mean []int, references, channels, every int) Filter {
	f := &cascade{poles: p, every: int64(every), refs: references}
	f.re = make([][MostPoles]float64, channels*references)
	f.im = make([][MostPoles]float64, channels*references)
	for i := range f.re {
		if mean != nil {
			f.means = append(f.means, slidingMean{ring: make([]complex128, mean[i%references])})
		}
	}
	return f
}

// Room is any number of frames: each is a step of its own.
func (f *cascade) Room(int64) int { return LongestBlock }

// Whole says that it does not matter how the frames come.
func (f *cascade) Whole() bool { return false }

// Gap leaves the sections as they are.
func (f *cascade) Gap(int64) {}

// Reset puts the sections to rest.
func (f *cascade) Reset() {
	clear(f.re)
	clear(f.im)
	for i := range f.means {
		f.means[i].reset()
	}
}

// Run takes any number of frames.
func (f *cascade) Run(b Block) {
	n := int64(len(b.X[0]))
	first := int(untilMultiple(b.End-n, f.every)) - 1 // frame that completes the first output
	width := len(b.X) * f.refs
	for r, m := range b.W {
		for ch, x := range b.X {
			i := ch*f.refs + r
			out := b.Out[min(i, len(b.Out)):]
			switch {
			case f.means != nil:
				f.averaged(i, x, m, first, width, out)
			case f.poles.N == 4:
				f.four(i, x, m, first, width, out)
			default:
				f.any(i, x, m, first, width, out)
			}
		}
	}
}

func (f *cascade) any(i int, x []float64, m Mixer, next, width int, out []complex128) {
	re, im := &f.re[i], &f.im[i]
	g, keep, n := f.poles.gain, f.poles.a, f.poles.N
	for k, v := range x {
		p, q := 2*v*m.Re[k], 2*v*m.Im[k]
		for s := range n {
			p, q = keep*re[s]+g*p, keep*im[s]+g*q
			re[s], im[s] = p, q
		}
		if k == next {
			out[0] = complex(p, q)
			out, next = out[min(width, len(out)):], next+int(f.every)
		}
	}
}

// four is the same for four sections, which most streams have, without the state in
// memory.
func (f *cascade) four(i int, x []float64, m Mixer, next, width int, out []complex128) {
	r, q := &f.re[i], &f.im[i]
	a, b, c, d := r[0], r[1], r[2], r[3]
	e, h, u, w := q[0], q[1], q[2], q[3]
	g, keep := f.poles.gain, f.poles.a
	mre, mim := m.Re[:len(x)], m.Im[:len(x)]
	for k, v := range x {
		v *= 2 * g
		a = keep*a + v*mre[k]
		b = keep*b + g*a
		c = keep*c + g*b
		d = keep*d + g*c
		e = keep*e + v*mim[k]
		h = keep*h + g*e
		u = keep*u + g*h
		w = keep*w + g*u
		if k == next {
			out[0] = complex(d, w)
			out, next = out[min(width, len(out)):], next+int(f.every)
		}
	}
	r[0], r[1], r[2], r[3] = a, b, c, d
	q[0], q[1], q[2], q[3] = e, h, u, w
}

func (f *cascade) averaged(i int, x []float64, m Mixer, next, width int, out []complex128) {
	re, im := &f.re[i], &f.im[i]
	g, keep := f.poles.gain, f.poles.a
	mean := &f.means[i]
	for k, v := range x {
		z := mean.step(complex(2*v*m.Re[k], 2*v*m.Im[k]))
		p, q := real(z), imag(z)
		for s := range f.poles.N {
			p, q = keep*re[s]+g*p, keep*im[s]+g*q
			re[s], im[s] = p, q
		}
		if k == next {
			out[0] = complex(p, q)
			out, next = out[min(width, len(out)):], next+int(f.every)
		}
	}
}

// slidingMean averages the last n values. A running sum would gather rounding
// for ever; here every sum is of at most n values: what is left of the previous
// n, summed from the end once, and the new ones.
type slidingMean struct {
	ring   []complex128 // [at:] sums from i to the end of the previous n; [:at] new values
	at     int
	newest complex128 // sum of ring[:at]
}

func (m *slidingMean) reset() {
	clear(m.ring)
	m.at, m.newest = 0, 0
}

func (m *slidingMean) step(v complex128) complex128 {
	m.ring[m.at] = v
	m.newest += v
	m.at++
	sum := m.newest
	if m.at < len(m.ring) {
		sum += m.ring[m.at]
	} else {
		m.turn()
	}
	return sum * complex(1/float64(len(m.ring)), 0)
}

// turn replaces the values by their sums from each to the last.
func (m *slidingMean) turn() {
	sum := complex128(0)
	for i := len(m.ring) - 1; i >= 0; i-- {
		sum += m.ring[i]
		m.ring[i] = sum
	}
	m.at, m.newest = 0, 0
}

// MeanAt returns the response of an average over n frames at a frequency in turns per
// frame, the newest at age 0.
func MeanAt(n int, turns float64) complex128 {
	half := math.Pi * (turns - math.Round(turns))
	if half == 0 {
		return 1
	}
	s, c := math.Sincos(half * float64(n-1))
	return complex(math.Sin(half*float64(n))/(float64(n)*math.Sin(half)), 0) * complex(c, -s)
}
