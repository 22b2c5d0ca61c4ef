package predict

import (
	"math"
	"testing"
)

// The region shrinks with what is asked, lies about the reference, and follows it.
func TestReach(t *testing.T) {
	var middle []float64
	for _, ohm := range []float64{10, 10e3} {
		m, err := bench(t).With(ohm).NewMap(500, 5000, 3, 1e-2, 1e7, 19)
		if err != nil {
			t.Fatal(err)
		}
		low10, high10 := m.Reach(0.1)
		low1, high1 := m.Reach(0.01)
		for i := range m.FreqsHz {
			if !(low10[i] < low1[i] && low1[i] < ohm && ohm < high1[i] && high1[i] < high10[i]) {
				t.Errorf("%g ohm at %g Hz: 10 %% from %g to %g, 1 %% from %g to %g", ohm, m.FreqsHz[i], low10[i], high10[i], low1[i], high1[i])
			}
		}
		middle = append(middle, math.Sqrt(low1[1]*high1[1]))
		if low, high := m.Reach(1e-9); !math.IsNaN(low[0]) || !math.IsNaN(high[0]) {
			t.Errorf("a part in a billion is read from %g to %g ohm", low[0], high[0])
		}
	}
	if middle[1] < 10*middle[0] {
		t.Errorf("the middle of what 10 ohm and 10 kiloohm read lies at %g and %g ohm", middle[0], middle[1])
	}
}

// An edge between two points is where a prediction at the edge says it is, within what
// the half width bends between points half a decade apart.
func TestReachIsWhatIsPredicted(t *testing.T) {
	s := bench(t)
	m, err := s.NewMap(997, 2000, 2, 1e-2, 1e7, 19)
	if err != nil {
		t.Fatal(err)
	}
	low, high := m.Reach(0.01)
	for _, ohm := range []float64{low[0], high[0]} {
		z := complex(ohm/math.Sqrt2, -ohm/math.Sqrt2)
		if got := HalfWidth(mustPart(t, mustCalibrate(t, s, 997), z).Reading.Modulus); math.Abs(got/0.01-1) > 0.15 {
			t.Errorf("%g ohm: %g at the edge of 1 %%", ohm, got)
		}
	}
}

func TestMapsThatAreNone(t *testing.T) {
	s := bench(t)
	for _, c := range []struct {
		lowHz, highHz, low, high float64
		freqs, ohms              int
	}{{0, 100, 1, 10, 3, 3}, {100, 50, 1, 10, 3, 3}, {10, 100, 0, 10, 3, 3}, {10, 100, 1, math.Inf(1), 3, 3}, {10, 100, 1, 10, 1, 3}, {10, 100, 1, 10, 3, 0}} {
		if _, err := s.NewMap(c.lowHz, c.highHz, c.freqs, c.low, c.high, c.ohms); err == nil {
			t.Errorf("%+v was drawn", c)
		}
	}
}
