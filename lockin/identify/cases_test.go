package identify

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"example.org/wheatear/lockin/circuit"
	"example.org/wheatear/lockin/parts"
)

// sweepOf reads a circuit at n points with relative noise rel, known or not.
func sweepOf(t *testing.T, text string, low, high float64, n int, rel float64, known bool) *circuit.Data {
	t.Helper()
	c, err := circuit.Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	r := rand.New(rand.NewPCG(11, uint64(n)))
	d := &circuit.Data{}
	for i := range n {
		f := low
		if n > 1 {
			f = low * math.Pow(high/low, float64(i)/float64(n-1))
		}
		z := c.Impedance(f)
		d.FreqHz = append(d.FreqHz, f)
		d.Z = append(d.Z, z+complex(rel*magnitude(z)*r.NormFloat64(), rel*magnitude(z)*r.NormFloat64()))
	}
	if known {
		d.Cov = circuit.Relative(d.Z, rel)
	}
	return d
}

// What is told of a part beside its family: marking, resonance, and where it behaves.
// The resonances are 1/(2π√LC); the ends of the stretches are where ω²LC, or what stands
// for it, is 5 %, or the reactance as large as the resistance.
func TestFiguresOfParts(t *testing.T) {
	for _, c := range []struct {
		text            string
		family          Family
		marking         string
		resonance       float64 // 0: none, or out of reach
		lowest, highest float64 // ends of the stretch within a step of the grid, 6 %
		series          parts.Series
		offLow, offHigh float64
	}{
		{"R 4700", Resistor, "4K7", 0, 20, 20e3, parts.E24, -0.01, 0.01},
		{"R 1020", Resistor, "1K0", 0, 20, 20e3, parts.E24, 0.01, 0.03},
		{"R 1050", Resistor, "1K05", 0, 20, 20e3, parts.E96, -0.01, 0.01},
		{"C 101n + R 0.02", LowLoss, "100n", 0, 20, 20e3, parts.E6, 0, 0.02},
		{"C 120n + R 0.02", LowLoss, "120n", 0, 20, 20e3, parts.E12, -0.01, 0.01},
		{"C 90u + R 0.2 + L 12n", Electrolytic, "100µ", 0, 20, 8842, parts.E6, -0.11, -0.09},                    // 1/(2π·0.2 Ω·90 µF) = 8.8 kHz
		{"(R 20 + L 33m) // C 300p", AirCoil, "33m", 50.58e3, 96.5, 11.0e3, parts.E6, -0.01, 0.01},              // R = ωL at 96.5 Hz; ω²LC = 0.048
		{"(R 20 + L 100m // R 80k) // C 100p", CoreCoil, "100m", 50.33e3, 31.8, 11.25e3, parts.E6, -0.01, 0.01}, // R = ωL at 31.8 Hz
		{"R 15k // C 2.2u + R 0.02", Leaky, "2µ2", 0, 21.6, 20e3, parts.E6, -0.01, 0.01},                        // D² = 5 % at 21.6 Hz
		{"R 0.1 + C 4.7u + L 3m", Resonator, "", 0, 0, 0, 0, 0, 0},
	} {
		id, err := Of(sweepOf(t, c.text, 20, 20e3, 41, 2e-4, true))
		if err != nil {
			t.Errorf("%s: %v", c.text, err)
			continue
		}
		if id.Family != c.family || id.Confidence != High {
			t.Errorf("%s is called %s with %s confidence, want %s: %q", c.text, id.Family, id.Confidence, c.family, id.Reasons)
			continue
		}
		if m := id.Marking; m.Text != c.marking || m.Series != c.series || m.Off < c.offLow || m.Off > c.offHigh {
			t.Errorf("%s: marking %+v, want %s of %s", c.text, m, c.marking, c.series)
		}
		if c.resonance > 0 && math.Abs(id.ResonanceHz.Value/c.resonance-1) > 0.01 {
			t.Errorf("%s resonates at %v, want %g Hz", c.text, id.ResonanceHz, c.resonance)
		}
		if apart(id.LowHz, c.lowest) || apart(id.HighHz, c.highest) {
			t.Errorf("%s behaves so from %.5g to %.5g Hz, want %g to %g", c.text, id.LowHz, id.HighHz, c.lowest, c.highest)
		}
	}
}

func apart(a, b float64) bool { return a != b && math.Abs(math.Log(a/b)) > 0.065 }

// Two of everything are no single part, and no reading of it is its value.
func TestNetworks(t *testing.T) {
	for _, text := range []string{"R 33 + C 470n // R 2k2", "R 1k + C 100n", "R 10 + L 10m // R 1k", "R 38 + L 47m + C 2.2u // R 1k5"} {
		id, err := Of(sweepOf(t, text, 20, 20e3, 31, 5e-4, true))
		if err != nil {
			t.Errorf("%s: %v", text, err)
			continue
		}
		if id.Family != Network && id.Confidence != Low {
			t.Errorf("%s is called %s with %s confidence: %q", text, id.Family, id.Confidence, id.Reasons)
		}
		if id.Family == Network && (!id.Value.IsAbsent() || id.Marking.Series != 0 || id.HighHz != 0) {
			t.Errorf("%s has a value %v", text, id.Value)
		}
	}
}

// Fewer points, or a narrow band, take confidence away; a single one leaves the kind.
func TestLessOfASweep(t *testing.T) {
	for _, c := range []struct {
		low, high float64
		n         int
		want      Confidence
		reason    string
	}{
		{20, 20e3, 31, High, ""},
		{20, 20e3, 5, Medium, "only 5 points"},
		{800, 1500, 31, Medium, "less than a decade"},
		{1e3, 1e3, 1, Low, "One frequency"},
	} {
		id, err := Of(sweepOf(t, "R 470", c.low, c.high, c.n, 1e-4, true))
		if err != nil {
			t.Fatal(err)
		}
		if id.Family != Resistor || id.Confidence != c.want || !strings.Contains(strings.Join(id.Reasons, " "), c.reason) {
			t.Errorf("%d points: %s with %s confidence, want %s: %q", c.n, id.Family, id.Confidence, c.want, id.Reasons)
		}
		if math.Abs(id.Value.Value-470) > 0.5 || id.Marking.Text != "470R" {
			t.Errorf("%d points: %v, %+v", c.n, id.Value, id.Marking)
		}
	}
	for text, want := range map[string]Family{"C 1u": Capacitor, "L 10m": Coil, "R 100 + C 1.6u": Unknown} {
		id, err := Of(sweepOf(t, text, 1e3, 1e3, 1, 1e-4, true))
		if err != nil || id.Family != want || id.Confidence != Low {
			t.Errorf("%s at one frequency: %s, %v; want %s", text, id.Family, err, want)
		}
	}
}

// Without an uncertainty the residuals tell the size of the noise.
func TestWithoutUncertainty(t *testing.T) {
	for text, want := range map[string]Family{"R 0.2 + C 90u": Electrolytic, "R 470": Resistor, "R 20 + L 33m": AirCoil} {
		id, err := Of(sweepOf(t, text, 20, 20e3, 31, 5e-4, false))
		if err != nil || id.Family != want {
			t.Errorf("%s is called %s, %v: %q", text, id.Family, err, id.Reasons)
		}
	}
}

// Figures close to a limit between families cost confidence.
func TestCloseToALimit(t *testing.T) {
	id, err := Of(sweepOf(t, "Q 1u^0.9965", 20, 20e3, 31, 1e-4, true)) // D = 0.0055
	if err != nil {
		t.Fatal(err)
	}
	if id.Confidence != Low || !strings.Contains(strings.Join(id.Reasons, " "), "close to the limit") {
		t.Errorf("%s with %s confidence: %q", id.Family, id.Confidence, id.Reasons)
	}
}

// What no part can be is not called one with confidence: noise, and a resistance that
// changes while it is read.
func TestWhatIsNoPart(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 3))
	d := sweepOf(t, "R 470", 20, 20e3, 31, 1e-4, true)
	for i := range d.Z {
		d.Z[i] = complex(470*math.Exp(r.NormFloat64()), 470*r.NormFloat64())
	}
	d.Cov = circuit.Relative(d.Z, 1e-3)
	id, err := Of(d)
	if err != nil {
		t.Fatal(err)
	}
	if id.Family != Unknown || id.Confidence != Low || !id.Value.IsAbsent() {
		t.Errorf("noise is called %s with %s confidence, %v", id.Family, id.Confidence, id.Value)
	}
	d = sweepOf(t, "R 470", 20, 20e3, 31, 1e-4, true)
	for i := range d.Z {
		d.Z[i] *= complex(1+0.02*float64(i)/30, 0)
	}
	if id, err = Of(d); err != nil {
		t.Fatal(err)
	}
	if id.Confidence == High || !strings.Contains(strings.Join(id.Reasons, " "), "Kramers–Kronig") {
		t.Errorf("a drifting resistor is called %s with %s confidence: %q", id.Family, id.Confidence, id.Reasons)
	}
}

func TestRefusals(t *testing.T) {
	for name, d := range map[string]*circuit.Data{
		"nothing":      {},
		"unequal":      {FreqHz: []float64{1, 2}, Z: []complex128{1}},
		"not a number": {FreqHz: []float64{20, 200, 2000}, Z: []complex128{1, complex(math.NaN(), 0), 1}},
		"zero":         {FreqHz: []float64{0, 200, 2000}, Z: []complex128{1, 1, 1}},
	} {
		if _, err := Of(d); !errors.Is(err, ErrSweep) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestUnits(t *testing.T) {
	for f, want := range map[Family]parts.Unit{Resistor: parts.Ohm, Leaky: parts.Farad, CoreCoil: parts.Henry, Resonator: parts.Hertz, Network: parts.None, Unknown: parts.None} {
		if got := f.Unit(); got != want {
			t.Errorf("%s: %v, want %v", f, got, want)
		}
	}
}

// Readings far from the reference scatter: the family is still the one that they show,
// and never a network of what the noise draws.
func TestNoisyReadings(t *testing.T) {
	for _, c := range []struct {
		text string
		ohm  float64 // of noise, each axis
		want []Family
	}{
		{"R 297k", 60e3, []Family{Resistor}},
		{"R 0.05 + L 1u", 1e-3, []Family{AirCoil, Coil, CoreCoil}},
		{"R 0.02 + L 0.5u", 3e-3, []Family{AirCoil, Coil, CoreCoil}},
		{"R 3m + L 4n", 1e-3, []Family{Resistor}},
	} {
		for seed := range uint64(3) {
			d := sweepOf(t, c.text, 20, 20e3, 31, 0, false)
			r := rand.New(rand.NewPCG(seed, 5))
			for i := range d.Z {
				d.Z[i] += complex(c.ohm*r.NormFloat64(), c.ohm*r.NormFloat64())
				d.Cov = append(d.Cov, circuit.Cov{ReRe: c.ohm * c.ohm, ImIm: c.ohm * c.ohm})
			}
			id, err := Of(d)
			if err != nil {
				t.Fatal(err)
			}
			if !slices.Contains(c.want, id.Family) {
				t.Errorf("%s in %g ohm of noise is called %s with %s confidence (%s): %q", c.text, c.ohm, id.Family, id.Confidence, id.Choice.Fits[0].Fitted(), id.Reasons)
			}
			for _, word := range []string{"less than 0.0001 degrees", "−0.", "-0.", "D is −"} {
				if strings.Contains(strings.Join(id.Reasons, " "), word) {
					t.Errorf("%s: %q", c.text, id.Reasons)
				}
			}
		}
	}
}
