package stimulus

import (
	"testing"
)

func TestMainsOrder(t *testing.T) {
	for _, c := range []struct {
		name              string
		hz, mains, length float64
		base              float64
		order             int
	}{
		{"on the mains itself", 50, 50, 1, 50, 1},
		{"twice the mains", 100, 50, 1, 50, 2},
		{"twice the other mains", 120, 50, 1, 0, 0},
		{"mains unknown", 120, 0, 1, 60, 2},
		{"between two multiples", 1025, 50, 1, 0, 0},
		{"a short record tells less", 1025, 50, 0.03, 50, 21},
		{"beyond the multiples that matter", 5000, 50, 1, 0, 0},
	} {
		if base, order := MainsOrder(c.hz, c.mains, c.length); base != c.base || order != c.order {
			t.Errorf("%s: multiple %d of %g Hz, want %d of %g", c.name, order, base, c.order, c.base)
		}
	}
}
