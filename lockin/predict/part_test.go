package predict

import (
	"math"
	"math/cmplx"
	"slices"
	"testing"

	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/parts"
)

func TestPartsAsTheyAreWritten(t *testing.T) {
	for _, c := range []struct {
		text  string
		kind  parts.Type
		want  impedance.Kind
		typ   parts.Type
		value float64
	}{
		{"4k7", "", impedance.Resistor, parts.AnyResistor, 4700},
		{"R47", "", impedance.Resistor, parts.AnyResistor, 0.47},
		{"100n", "", impedance.Capacitor, parts.AnyCapacitor, 100e-9},
		{"4700u", "", impedance.Capacitor, parts.Electrolytic, 4.7e-3},
		{"22u", parts.CeramicClass2, impedance.Capacitor, parts.CeramicClass2, 22e-6},
		{"22uH", "", impedance.Inductor, parts.AnyInductor, 22e-6},
	} {
		p := expected(t, c.text, c.kind)
		if p.Kind != c.want || p.Type != c.typ || math.Abs(p.Value/c.value-1) > 1e-12 {
			t.Errorf("%s: %+v", c.text, p)
		}
	}
}

// Far below what is beside the value, a part is its value.
func TestPartIsItsValue(t *testing.T) {
	const hz, w = 100, 2 * math.Pi * 100
	for _, c := range []struct {
		text string
		want complex128
	}{
		{"4k7", 4700},
		{"100n", complex(usualLossFilm/(w*100e-9), -1/(w*100e-9))},
		{"4700u", complex(usualLossElectro/(2*math.Pi*120*4.7e-3), w*usualLeadHenry-1/(w*4.7e-3))},
		{"10mH", complex(0.01/usualCoilSeconds, w*0.01)},
	} {
		// The lead's inductance: 9e-6 ohm in 4700.
		if got := expected(t, c.text, "").Impedance(hz); cmplx.Abs(got-c.want) > 1e-5*cmplx.Abs(c.want) {
			t.Errorf("%s: %v, want %v", c.text, got, c.want)
		}
	}
}

// The figure that a plan is made for is the one that the reading has.
func TestMainQuantity(t *testing.T) {
	c := mustCalibrate(t, bench(t), 997)
	for _, p := range []Part{
		{Kind: impedance.Resistor, Value: 470}, {Kind: impedance.Capacitor, Value: 220e-9, Type: parts.AnyCapacitor}, {Kind: impedance.Inductor, Value: 47e-3},
	} {
		m := mustPart(t, c, p.Impedance(997))
		y := make([]float64, fixture.Outputs)
		m.Model.Func(y, m.Model.Inputs.Values())
		q := p.Main(m.Reading)
		// 15 nH of lead with 220 nF: ω²LC, 1e-7.
		if math.Abs(q.Value/p.Value-1) > 1e-6 || math.Abs(p.main(y)/q.Value-1) > 1e-9 {
			t.Errorf("%+v: read %g, by the model %g", p, q.Value, p.main(y))
		}
	}
}

func TestFrequenciesWithinReach(t *testing.T) {
	for _, c := range []struct {
		name string
		p    Part
		rate float64
		want []float64
	}{
		// IEC 60384-1 asks 100 kHz, 1 MHz or 10 MHz: practice is left at 48 kHz, and at
		// 384 kHz its 100 kHz comes first.
		{"small capacitor", Part{Kind: impedance.Capacitor, Value: 100e-12, Type: parts.AnyCapacitor}, 48000, []float64{100, 120, 1000, 10e3}},
		{"small capacitor, fast card", Part{Kind: impedance.Capacitor, Value: 100e-12, Type: parts.AnyCapacitor}, 384000, []float64{100e3, 100, 120, 1000, 10e3}},
		{"slow card", Part{Kind: impedance.Inductor, Value: 1e-3, Type: parts.AnyInductor}, 8000, []float64{100, 1000}},
		{"no type", Part{Kind: impedance.Resistor, Value: 10}, 48000, []float64{fallbackHz}},
		{"double layer", Part{Kind: impedance.Capacitor, Value: 1, Type: parts.DoubleLayer}, 48000, []float64{1000, 100, 120}}, // IEC 62391-1
	} {
		if got := c.p.FrequenciesHz(c.rate); !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}
