package parts

import (
	"math"
	"testing"
)

// The figures themselves are common practice, from memory; here is that they are
// applied as written.
func TestLimitsOfElectrolytics(t *testing.T) {
	for _, c := range []struct {
		e NewElectrolytic
		d float64
	}{
		{NewElectrolytic{100e-6, 6.3}, 0.28}, {NewElectrolytic{100e-6, 25}, 0.16}, {NewElectrolytic{100e-6, 63}, 0.10}, {NewElectrolytic{10e-6, 450}, 0.20},
		{NewElectrolytic{100e-6, 0}, 0.28}, {NewElectrolytic{1000e-6, 25}, 0.16}, {NewElectrolytic{2200e-6, 25}, 0.20}, {NewElectrolytic{4700e-6, 16}, 0.28},
	} {
		if got := c.e.LimitD(); math.Abs(got-c.d) > 1e-12 {
			t.Errorf("%+v: %g, want %g", c.e, got, c.d)
		}
	}
	e := NewElectrolytic{470e-6, 16}
	if got, want := e.LimitESR(120), 0.20/(2*math.Pi*120*470e-6); math.Abs(got/want-1) > 1e-12 || e.LimitESR(20e3) != got {
		t.Errorf("ESR %g, at 20 kHz %g, want %g", got, e.LimitESR(20e3), want)
	}
}

func TestHealthOfElectrolytics(t *testing.T) {
	e := NewElectrolytic{470e-6, 16}
	for _, c := range []struct {
		sign Sign
		want Health
	}{
		{e.Capacitance(460e-6, 1e-6, 0), AsNew}, {e.Capacitance(340e-6, 1e-6, 0), Ageing}, {e.Capacitance(200e-6, 1e-6, 0), WornOut},
		{e.Capacitance(376e-6, 5e-6, 0), Unclear}, {e.Capacitance(440e-6, 1e-6, 0.05), Ageing},
		{e.Loss(0.08, 0.001), AsNew}, {e.Loss(0.3, 0.001), Ageing}, {e.Loss(0.9, 0.01), WornOut}, {e.Loss(0.2, 0.02), Unclear},
		{e.Resistance(0.06, 0.001), AsNew}, {e.Resistance(0.21, 0.001), Ageing}, {e.Resistance(3, 0.1), WornOut}, {e.Resistance(0.1, 0.02), Unclear},
		{e.Loss(math.NaN(), 0.1), Unclear},
	} {
		if c.sign.Outcome != c.want {
			t.Errorf("%s %g: %s, want %s", c.sign.What, c.sign.Value, c.sign.Outcome, c.want)
		}
	}
}
