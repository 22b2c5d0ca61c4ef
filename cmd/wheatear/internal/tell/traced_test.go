package tell

import (
	"math"
	"math/cmplx"
	"testing"
)

// A sharp resonance is a circle: with straight lines between the points it stays within a
// thousandth of it, and a resistor needs few points.
func TestTraced(t *testing.T) {
	const ohm, q, resonance = 1000, 500, 3000
	circle := func(hz float64) complex128 {
		return ohm / complex(1, q*(hz/resonance-resonance/hz))
	}
	points := traced(circle, 20, 20e3)
	if len(points) > 1000 {
		t.Errorf("%d points", len(points))
	}
	var span float64
	for i := 1; i < len(points); i++ {
		middle := (points[i-1] + points[i]) / 2
		if off := math.Abs(cmplx.Abs(middle-ohm/2)-ohm/2) / ohm; off > 2e-3 {
			t.Fatalf("between %v and %v a line is %.4f beside the circle", points[i-1], points[i], off)
		}
		span = math.Max(span, real(points[i]))
	}
	if span < 0.99*ohm {
		t.Errorf("the top of the circle is missed: %g of %d ohm", span, ohm)
	}
	if n := len(traced(func(float64) complex128 { return 470 }, 20, 20e3)); n != 60 {
		t.Errorf("%d points for a resistor", n)
	}
}
