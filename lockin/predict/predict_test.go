package predict

import (
	"math"
	"math/cmplx"
	"strings"
	"testing"

	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/stimulus"
)

// fataler is what tests and properties have in common.
type fataler interface {
	Helper()
	Fatal(args ...any)
}

// bench is a jig with a quiet card.
func bench(t fataler, lines ...string) *Setup {
	t.Helper()
	text := "channels = [\"total\", \"part\"]\nreference = \"1k\"\nreference_tolerance = \"0.1%\"\ninput_resistance = \"1M\"\ninput_capacitance = \"100p\"\nmains = 50\n" +
		strings.Join(lines, "\n")
	jig, err := fixture.ParseJig("bench.toml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return &Setup{Jig: jig, Card: Card{RateHz: 48000, Seconds: 1, Peak: 0.25, NoiseRMS: [2]float64{1e-5, 1e-5}, HumRMS: [2]float64{1e-5, 1e-5}}}
}

func mustCalibrate(t testing.TB, s *Setup, hz float64) *Calibrated {
	t.Helper()
	c, err := s.Calibrate(hz)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func mustPart(t testing.TB, c *Calibrated, z complex128) *fixture.Corrected {
	t.Helper()
	m, err := c.Part(z)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// What is put in comes out: phasors and correction are inverse to each other, with
// every wiring. The tolerance is rounding through a few matrices, 1e-9.
func TestPredictedValueIsThePart(t *testing.T) {
	for _, wiring := range []string{`"total", "part"`, `"total", "reference"`, `"part", "reference"`, `"part", "-reference"`} {
		s := bench(t)
		jig, err := fixture.ParseJig("bench.toml", []byte("channels = ["+wiring+"]\nreference = \"1k\"\nreference_tolerance = \"0.1%\"\nfull_scale = [\"1.2V\", \"0.9V\"]\n"))
		if err != nil {
			t.Fatal(err)
		}
		s.Jig = jig
		c := mustCalibrate(t, s, 997)
		for _, z := range []complex128{complex(1, 2), complex(700, -900), complex(10, 3e4)} {
			m := mustPart(t, c, z)
			if got := complex(m.Reading.Re.Value, m.Reading.Im.Value); !m.Trusted || cmplx.Abs(got-z) > 1e-9*cmplx.Abs(z) {
				t.Errorf("%s: %v of %v, findings %v", wiring, got, z, m.Findings)
			}
		}
	}
}

// Where the noise of the inputs rules, its share of the reading is what the bound
// for the amplitude of a sine says, σ·√(2/n) on each axis (Rife and Boorstyn, 1974):
// of a part far below the reference v = Z/R with u(v) = σ√(2/n)/(A·|Z+R|/R), and
// the short, recorded alike, has as much again.
func TestNoiseIsTheCramerRaoBound(t *testing.T) {
	s := bench(t, "contact_repeatability = \"0\"", "drift = \"0ppm\"")
	s.Card.NoiseRMS = [2]float64{1e-4, 1e-4}
	m := mustPart(t, mustCalibrate(t, s, 997), complex(1, 0))
	u := 1e-4 * math.Sqrt(2/(48000*stimulus.UsedSeconds(1, 997))) / 0.25 * 1000 * math.Sqrt2
	if got := m.Reading.Im.U; math.Abs(got/u-1) > 0.01 { // what is left: residuals of the short, 1e-5 ohm
		t.Errorf("u(X) is %g ohm, want %g", got, u)
	}
}

func TestLongerLouderQuieterIsBetter(t *testing.T) {
	half := func(change func(s *Setup)) float64 {
		s := bench(t)
		s.Card.NoiseRMS = [2]float64{4e-4, 4e-4}
		change(s)
		return HalfWidth(mustPart(t, mustCalibrate(t, s, 997), complex(0, -1e6)).Reading.Series.C)
	}
	as := half(func(*Setup) {})
	for name, change := range map[string]func(s *Setup){
		"longer":          func(s *Setup) { s.Card.Seconds = 4 },
		"louder":          func(s *Setup) { s.Card.Peak = 0.5 },
		"quieter":         func(s *Setup) { s.Card.NoiseRMS = [2]float64{2e-4, 2e-4} },
		"nearer":          func(s *Setup) { *s = *s.With(10e3) },
		"better contacts": func(s *Setup) { s.Jig.StrayFarad = 0; s.Jig.Drift /= 4 },
	} {
		if got := half(change); !(got < as*0.97) {
			t.Errorf("%s: %g, before %g", name, got, as)
		}
	}
	if got := half(func(s *Setup) { s.Uncalibrated = true }); !(got > 5*as) {
		t.Errorf("without a calibration: %g, with one %g", got, as)
	}
}

// A tone on a multiple of the mains has hum in its budget, one beside it has not.
func TestHumUnderTheTone(t *testing.T) {
	s := bench(t)
	for hz, want := range map[float64]bool{100: true, 120: false, 1000: true, 1025: false} {
		c, err := s.try(Wish{Part: Part{Kind: impedance.Resistor, Value: 10}}, hz)
		if err != nil {
			t.Fatal(err)
		}
		got := false
		for _, l := range c.Limits {
			got = got || l.Label == fixture.LabelMains
		}
		if got != want || (c.MainsOrder > 0) != want {
			t.Errorf("%g Hz: hum in the budget is %v, multiple %d", hz, got, c.MainsOrder)
		}
	}
}

func TestBeyondReach(t *testing.T) {
	c := mustCalibrate(t, bench(t), 997)
	for name, z := range map[string]complex128{"open": 1e13, "short": 1e-9} {
		m := mustPart(t, c, z)
		if string(m.Reading.State) != name || !math.IsInf(HalfWidth(m.Reading.Modulus), 1) {
			t.Errorf("%v ohm: state %s, half width %g", z, m.Reading.State, HalfWidth(m.Reading.Modulus))
		}
	}
}

func TestWhatCannotBePredicted(t *testing.T) {
	for name, change := range map[string]func(s *Setup) float64{
		"no jig":          func(s *Setup) float64 { s.Jig = nil; return 1000 },
		"no rate":         func(s *Setup) float64 { s.Card.RateHz = 0; return 1000 },
		"no time":         func(s *Setup) float64 { s.Card.Seconds = 0; return 1000 },
		"hours":           func(s *Setup) float64 { s.Card.Seconds = 1e9; return 1000 },
		"too loud":        func(s *Setup) float64 { s.Card.Peak = 1.1; return 1000 },
		"no level":        func(s *Setup) float64 { s.Card.Peak = 0; return 1000 },
		"noise":           func(s *Setup) float64 { s.Card.NoiseRMS[1] = math.NaN(); return 1000 },
		"hum":             func(s *Setup) float64 { s.Card.HumRMS[0] = -1; return 1000 },
		"source":          func(s *Setup) float64 { s.Card.SourceOhm = -1; return 1000 },
		"too high":        func(s *Setup) float64 { return 23000 },
		"no frequency":    func(s *Setup) float64 { return 0 },
		"frequency is no": func(s *Setup) float64 { return math.NaN() },
	} {
		s := bench(t)
		hz := change(s)
		if _, err := s.Calibrate(hz); err == nil || !strings.HasPrefix(err.Error(), "predict: ") {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := mustCalibrate(t, bench(t), 997).Part(cmplx.NaN()); err == nil {
		t.Error("a part without impedance was predicted")
	}
}
