package impedance

import (
	"math"

	"example.org/wheatear/lockin/internal/order"
)

// point is a place in a plane.
type point struct{ x, y float64 }

// region is a convex polygon, its corners in order; empty where nothing is left.
type region []point

// directions is how many strips a region is cut from: the corners then stand out by less
// than 1/cos(π/2n) − 1 = 0.5 %.
const directions = 16

// inStrip is the part of a sample within each strip of a region. Figures that bend over
// the region, such as |Z| over that of Y, may have their truth anywhere on a curve in it,
// so that both coordinates count: 98.57 % in every direction are 95 % of a normal sample
// in all, the ellipse of √(−2 ln 0.05) = 2.45 standard uncertainties (JCGM 102:2011, 6.5).
const inStrip = 0.9857

// regionOf returns what all central strips of a sample have in common, one strip
// for each direction: where no direction finds the point unusual. It is a contour of halfspace
// depth (J. W. Tukey, Proc. Int. Congress of Mathematicians, Vancouver 1975, 523; from
// memory).
func regionOf(xs, ys, scratch []float64) region {
	n := len(xs)
	if n == 0 {
		return nil
	}
	scratch = scratch[:n]
	w := whitening(xs, ys, scratch)
	r := region{{-1, -1}, {1, -1}, {1, 1}, {-1, 1}}
	for i := range r { // a square that holds all
		r[i] = w.back(point{1e3 * r[i].x, 1e3 * r[i].y})
	}
	outside := max((n-int(inStrip*float64(n)+0.5))/2, 1)
	lowest, highest := outside-1, n-outside
	for k := range directions {
		sin, cos := math.Sincos(math.Pi * float64(k) / directions)
		nx, ny := w.normal(cos, sin)
		for t := range xs {
			scratch[t] = nx*xs[t] + ny*ys[t]
		}
		low := order.Kth(scratch, lowest)
		high := order.Kth(scratch[lowest:], highest-lowest)
		r = r.clip(nx, ny, high).clip(-nx, -ny, -low)
	}
	return r
}

// whitened is a linear map that makes a sample round: z = (p − middle)/scale, turned.
type whitened struct {
	middle point
	// p = middle + a·z, a lower triangular
	a11, a21, a22 float64
}

// whitening judges spread and correlation by the inner half and less of a sample, so
// that long tails do not matter.
func whitening(xs, ys, scratch []float64) whitened {
	scale := func(v []float64) (middle, spread float64) {
		copy(scratch, v)
		n := len(v)
		low, middle, high := order.Kth(scratch, n/4), order.Kth(scratch, n/2), order.Kth(scratch, 3*n/4)
		return middle, math.Max((high-low)/1.349, 1e-12*math.Abs(middle))
	}
	var w whitened
	var sx, sy float64
	w.middle.x, sx = scale(xs)
	w.middle.y, sy = scale(ys)
	if sx == 0 {
		sx = math.SmallestNonzeroFloat64 * 1e20
	}
	if sy == 0 {
		sy = math.SmallestNonzeroFloat64 * 1e20
	}
	sum, xx, yy := 0.0, 0.0, 0.0
	for t := range xs {
		u, v := (xs[t]-w.middle.x)/sx, (ys[t]-w.middle.y)/sy
		if math.Abs(u) < 3 && math.Abs(v) < 3 {
			sum, xx, yy = sum+u*v, xx+u*u, yy+v*v
		}
	}
	rho := 0.0
	if xx > 0 && yy > 0 {
		rho = sum / math.Sqrt(xx*yy)
	}
	w.a11, w.a21 = sx, rho*sy
	w.a22 = sy * math.Sqrt(math.Max(1-rho*rho, 1e-10))
	return w
}

func (w whitened) back(z point) point {
	return point{w.middle.x + w.a11*z.x, w.middle.y + w.a21*z.x + w.a22*z.y}
}

// normal returns the direction in which z·(cos, sin) grows, in the plane itself.
func (w whitened) normal(cos, sin float64) (nx, ny float64) {
	ny = sin / w.a22
	return (cos - w.a21*ny) / w.a11, ny
}

// clip leaves what has nx·x + ny·y ≤ most.
func (r region) clip(nx, ny, most float64) region {
	var out region
	for i, p := range r {
		q := r[(i+1)%len(r)]
		dp, dq := nx*p.x+ny*p.y-most, nx*q.x+ny*q.y-most
		if dp <= 0 {
			out = append(out, p)
		}
		if (dp < 0 && dq > 0) || (dp > 0 && dq < 0) {
			t := dp / (dp - dq)
			out = append(out, point{p.x + t*(q.x-p.x), p.y + t*(q.y-p.y)})
		}
	}
	return out
}

// grown is the region with all distances from a point times a factor.
func (r region) grown(about point, factor float64) region {
	out := make(region, len(r))
	for i, p := range r {
		out[i] = point{about.x + factor*(p.x-about.x), about.y + factor*(p.y-about.y)}
	}
	return out
}

// with is the least convex region that holds a point, too.
func (r region) with(p point) region {
	if len(r) < 3 || r.holds(p) {
		return r
	}
	// Sides that see the point from outside give way to two that lead to it.
	n, outside := len(r), make([]bool, len(r))
	for i, a := range r {
		b := r[(i+1)%n]
		outside[i] = (b.x-a.x)*(p.y-a.y)-(b.y-a.y)*(p.x-a.x) < 0
	}
	var out region
	for i, a := range r {
		before := outside[(i+n-1)%n]
		if !before || !outside[i] {
			out = append(out, a)
		}
		if !before && outside[i] {
			out = append(out, p)
		}
	}
	return out
}

// holds reports whether a point lies in the region or on its edge.
func (r region) holds(p point) bool {
	if len(r) < 3 {
		return false
	}
	size := 0.0
	for _, q := range r {
		size = math.Max(size, math.Max(math.Abs(q.x-p.x), math.Abs(q.y-p.y)))
	}
	for i, a := range r {
		b := r[(i+1)%len(r)]
		if (b.x-a.x)*(p.y-a.y)-(b.y-a.y)*(p.x-a.x) < -1e-12*size*size {
			return false
		}
	}
	return true
}

// centre is the mean of the corners.
func (r region) centre() point {
	var c point
	for _, p := range r {
		c.x += p.x / float64(len(r))
		c.y += p.y / float64(len(r))
	}
	return c
}

// nearest is the place within the region on the way from a point to the centre.
func (r region) nearest(p point) point {
	if r.holds(p) {
		return p
	}
	c := r.centre()
	inside, outside := 1.0, 0.0
	for range 50 {
		t := (inside + outside) / 2
		if r.holds(point{p.x + t*(c.x-p.x), p.y + t*(c.y-p.y)}) {
			inside = t
		} else {
			outside = t
		}
	}
	return point{p.x + inside*(c.x-p.x), p.y + inside*(c.y-p.y)}
}

// edge calls do along the whole edge, some places on each side.
func (r region) edge(do func(p point)) {
	const each = 16
	for i, p := range r {
		q := r[(i+1)%len(r)]
		for k := range each {
			t := float64(k) / each
			do(point{p.x + t*(q.x-p.x), p.y + t*(q.y-p.y)})
		}
	}
}
