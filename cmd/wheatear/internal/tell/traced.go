package tell

import (
	"math"
	"math/cmplx"
)

// traced is the course of an impedance from one frequency to another, so close that it
// may be drawn with straight lines between the points in the plane: where it bends, as
// at a resonance, the points lie closer.
func traced(of func(freqHz float64) complex128, low, high float64) []complex128 {
	const (
		first  = 60   // points, evenly on a logarithmic scale
		deep   = 16   // halvings of what lies between two
		apart  = 1e-3 // of the whole figure, by which a line may miss the middle
		beyond = 1e-9 // of all that is there no figure is made
	)
	at := func(x float64) complex128 { return of(low * math.Pow(high/low, x)) }
	var coarse []complex128
	span := 0.0
	for i := range first {
		coarse = append(coarse, at(float64(i)/(first-1)))
		span = math.Max(span, cmplx.Abs(coarse[i]-coarse[0]))
	}
	out := coarse[:1:1]
	var between func(x0, x1 float64, z0, z1 complex128, depth int)
	between = func(x0, x1 float64, z0, z1 complex128, depth int) {
		x := (x0 + x1) / 2
		z := at(x)
		if depth > 0 && cmplx.Abs(z-(z0+z1)/2) > apart*span+beyond*cmplx.Abs(z) {
			between(x0, x, z0, z, depth-1)
			between(x, x1, z, z1, depth-1)
			return
		}
		out = append(out, z1)
	}
	for i := range first - 1 {
		between(float64(i)/(first-1), float64(i+1)/(first-1), coarse[i], coarse[i+1], deep)
	}
	return out
}
