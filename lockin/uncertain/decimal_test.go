package uncertain

import (
	"fmt"
	"math"
	"math/big"
	"testing"
)

// TestLeading: the decade of every power of ten and of its neighbours, against
// exact arithmetic.
func TestLeading(t *testing.T) {
	for e := -307; e <= 308; e++ {
		power, ok := new(big.Rat).SetString(fmt.Sprintf("1e%d", e))
		if !ok {
			t.Fatal(e)
		}
		v, _ := power.Float64()
		for _, x := range []float64{math.Nextafter(v, 0), v, math.Nextafter(v, math.Inf(1))} {
			want := e
			if new(big.Rat).SetFloat64(x).Cmp(power) < 0 {
				want = e - 1
			}
			if got := leading(x).top(); got != want {
				t.Errorf("leading(%.17g).top() = %d, want %d", x, got, want)
			}
		}
	}
}

// TestRoundAt: half goes up where all digits go (0.5 is exact in binary), and to
// even where strconv decides; a carry keeps the place.
func TestRoundAt(t *testing.T) {
	for _, c := range []struct {
		v     float64
		place int
		want  string
	}{
		{0.5, 0, "1"}, {0.49999999999999994, 0, "0"}, {-0.5, 0, "-1"}, {0.04, 0, "0"},
		{9.96, -1, "10.0"}, {99.5, 0, "100"}, {2.5, 0, "2"}, {3.5, 0, "4"},
		{1234.5678, -2, "1234.57"}, {1234.5678, 2, "1200"}, {60, 2, "100"}, {0, -3, "0.000"},
	} {
		if got := roundAt(c.v, c.place).text(0); got != c.want {
			t.Errorf("roundAt(%v, %d) = %s, want %s", c.v, c.place, got, c.want)
		}
	}
}

// TestNext: one unit further from zero, with carries.
func TestNext(t *testing.T) {
	for text, want := range map[string]string{"12": "13", "19": "20", "99": "100", "": "1"} {
		if got := (decimal{digits: text}).next().text(0); got != want {
			t.Errorf("after %q comes %s, want %s", text, got, want)
		}
	}
}
