package filter

// The kernels form sums over one run of samples, each sum in a chain of its own. The
// order of the additions depends on the length alone.

// dot returns Σ x·t with two weights a frame.
func dot(x []float64, t [][2]float64) (a, b float64) {
	var c, d, e, f, g, h float64
	t = t[:len(x)]
	i := 0
	for ; i < len(x)-3; i += 4 {
		v, w := (*[4]float64)(x[i:]), (*[4][2]float64)(t[i:])
		a += v[0] * w[0][0]
		b += v[0] * w[0][1]
		c += v[1] * w[1][0]
		d += v[1] * w[1][1]
		e += v[2] * w[2][0]
		f += v[2] * w[2][1]
		g += v[3] * w[3][0]
		h += v[3] * w[3][1]
	}
	for ; i < len(x); i++ {
		a += x[i] * t[i][0]
		b += x[i] * t[i][1]
	}
	return (a + c) + (e + g), (b + d) + (f + h)
}

// pair returns Σ t·re and Σ t·im with one weight a frame.
func pair(t, re, im []float64) (a, b float64) {
	var c, d, e, f, g, h float64
	n := len(t)
	re, im = re[:n], im[:n]
	i := 0
	for ; i < n-3; i += 4 {
		w, u, v := (*[4]float64)(t[i:]), (*[4]float64)(re[i:]), (*[4]float64)(im[i:])
		a += w[0] * u[0]
		b += w[0] * v[0]
		c += w[1] * u[1]
		d += w[1] * v[1]
		e += w[2] * u[2]
		f += w[2] * v[2]
		g += w[3] * u[3]
		h += w[3] * v[3]
	}
	for ; i < n; i++ {
		a += t[i] * re[i]
		b += t[i] * im[i]
	}
	return (a + c) + (e + g), (b + d) + (f + h)
}

// Sums of sums: with w = x·t, s0 += w, s1 += s0, s2 += s1, … leaves in s_i the sum of
// C(age+i, i)·w, age counted back from the last frame. That is what section i of equal
// poles answers, but for a factor and the decay, which is part of t: one addition per
// section and axis instead of a product and an addition.

// sums4 forms s0…s3 for two weights a frame: those of the first, then of the second.
func sums4(out *[8]float64, x []float64, t [][2]float64) {
	var a, b, c, d, e, f, g, h float64
	t = t[:len(x)]
	for i, v := range x {
		w := &t[i]
		a += v * w[0]
		b += a
		c += b
		d += c
		e += v * w[1]
		f += e
		g += f
		h += g
	}
	*out = [8]float64{a, b, c, d, e, f, g, h}
}

// sums8 forms s0…s7 for one of the two weights a frame.
func sums8(out *[8]float64, x []float64, t [][2]float64, axis int) {
	var a, b, c, d, e, f, g, h float64
	t = t[:len(x)]
	axis &= 1
	for i, v := range x {
		a += v * t[i][axis]
		b += a
		c += b
		d += c
		e += d
		f += e
		g += f
		h += g
	}
	*out = [8]float64{a, b, c, d, e, f, g, h}
}

// mixed4 forms s0…s3 of x·t·re, then those of x·t·im.
func mixed4(out *[8]float64, x, re, im, t []float64) {
	var a, b, c, d, e, f, g, h float64
	re, im, t = re[:len(x)], im[:len(x)], t[:len(x)]
	for i, v := range x {
		v *= t[i]
		a += v * re[i]
		b += a
		c += b
		d += c
		e += v * im[i]
		f += e
		g += f
		h += g
	}
	*out = [8]float64{a, b, c, d, e, f, g, h}
}

// mixed8 forms s0…s7 of x·t·m.
func mixed8(out *[8]float64, x, m, t []float64) {
	var a, b, c, d, e, f, g, h float64
	m, t = m[:len(x)], t[:len(x)]
	for i, v := range x {
		a += v * t[i] * m[i]
		b += a
		c += b
		d += c
		e += d
		f += e
		g += f
		h += g
	}
	*out = [8]float64{a, b, c, d, e, f, g, h}
}
