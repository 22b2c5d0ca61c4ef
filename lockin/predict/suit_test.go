package predict

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"

	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/internal/drawnjig"
	"example.org/wheatear/lockin/internal/testkit"
	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/record"
)

// drawnPart draws a part as the trade sells them, 1 Ω to 1 MΩ, 10 pF to 10 mF, 1 µH to
// 10 H, with believable losses (common practice, no source).
func drawnPart(rng *rand.Rand) (p drawnjig.Part, kind impedance.Kind, value float64) {
	const at1k = 2 * math.Pi * 1e3
	between := func(low, high float64) float64 { return drawnjig.Between(rng, low, high) }
	switch p.Kind = drawnjig.Kind(rng.IntN(3)); p.Kind {
	case drawnjig.Resistor:
		p.Ohm, p.Henry, p.Farad = between(1, 1e6), between(2e-9, 50e-9), between(0.1e-12, 0.6e-12)
		return p, impedance.Resistor, p.Ohm
	case drawnjig.Capacitor:
		p.Farad, p.Henry = between(10e-12, 10e-3), between(1e-9, 15e-9)
		p.Ohm = between(1e-4, 0.03) / (at1k * p.Farad)
		if p.Farad > 10e-6 || p.Farad > 1e-6 && rng.IntN(2) == 0 { // an electrolytic
			p.Ohm = between(0.5, 2) * 0.2 * math.Pow(100e-6/p.Farad, 0.7)
			p.ParallelOhm = between(1, 100) / p.Farad // seconds of leakage
		}
		return p, impedance.Capacitor, p.Farad
	}
	p.Henry = between(1e-6, 10)
	corner := between(200, 2000) // hertz, of an air coil
	if p.Henry > 1e-3 {
		corner = between(5, 300)
	}
	p.Ohm, p.Farad = 2*math.Pi*corner*p.Henry, between(5e-12, 100e-12)
	p.ParallelOhm = between(10, 300) * 10 * at1k * p.Henry
	return p, impedance.Inductor, p.Henry
}

// drawnBench is a bench with a calibration at 31 frequencies, of which those are made
// that a look needs.
type drawnBench struct {
	jig   *drawnjig.Jig
	setup *Setup
	cal   *fixture.Calibration
	hz    []float64
}

func newDrawnBench(t *testing.T, rng *rand.Rand, refOhm float64) *drawnBench {
	t.Helper()
	cfg := drawnjig.Usual([2]string{"total", "part"}, refOhm)
	cfg.ReferenceTolerance, cfg.MainsHz = 1e-3, 50
	b := &drawnBench{jig: drawnjig.Draw(rng, cfg)}
	b.jig.Noise.Peak = 0.05 // of each of seven tones at -12 dBFS
	file, err := fixture.ParseJig("drawn", []byte(b.jig.File()))
	if err != nil {
		t.Fatal(err)
	}
	b.setup = &Setup{Jig: file, Card: Card{RateHz: 48000, Seconds: 1, Peak: 0.25, NoiseRMS: b.jig.Noise.RMS, HumRMS: [2]float64{DefaultHumRMS, DefaultHumRMS}}}
	var grid []float64
	for i := range 31 {
		grid = append(grid, b.setup.aside(20*math.Pow(1000, float64(i)/30)))
	}
	for _, tone := range b.setup.LookTones(grid) {
		b.hz = append(b.hz, tone.FreqHz)
	}
	var obs []fixture.Observation
	for _, role := range []string{drawnjig.RoleOpen, drawnjig.RoleShort, drawnjig.RoleLoad} {
		obs = append(obs, observation(b.jig.RecordStandard(role, drawnjig.Load{Ohm: refOhm, Tolerance: 1e-3}, b.hz...)))
	}
	if b.cal, err = fixture.Calibrate(file, obs, b.hz, fixture.About{}); err != nil {
		t.Fatal(err)
	}
	return b
}

func (b *drawnBench) look(t *testing.T, p drawnjig.Part) (out []impedance.Reading) {
	t.Helper()
	obs := []fixture.Observation{observation(b.jig.RecordPart(p, b.hz...))}
	for _, hz := range b.hz {
		c, err := fixture.Measure(b.setup.Jig, b.cal, obs, hz, fixture.Options{Reading: impedance.Config{Trials: 1000}})
		if err != nil {
			t.Fatal(err)
		}
		if c.Trusted {
			out = append(out, c.Reading)
		}
	}
	return out
}

// observation is what the analysis of a drawn recording would be.
func observation(r drawnjig.Recording) fixture.Observation {
	n := int(r.Seconds * r.RateHz)
	a := &record.Analysis{RateHz: r.RateHz, Bits: 24, Frames: n, End: n, NoiseRMS: r.RMS[:], Peak: r.Peak[:], Offset: []float64{0, 0}}
	for _, p := range r.Tones {
		t := record.ToneFit{NominalHz: p.NominalHz, FreqHz: p.FoundHz, Phasors: p.V[:], Cov: mat.NewSymDense(4, nil), Dof: p.Dof,
			LineU: []float64{0, 0}, Harmonics: [][]complex128{make([]complex128, 4), make([]complex128, 4)}, HarmonicU: p.U[:]}
		for i := range 4 {
			for k := range 4 {
				t.Cov.SetSym(i, k, p.Cov[i][k])
			}
		}
		for i, v := range p.V {
			t.Detected = append(t.Detected, cmplx.Abs(v) > 5*p.U[i])
		}
		a.Tones = append(a.Tones, t)
	}
	o := fixture.Observation{Role: fixture.Role(r.Role), File: r.File, Analysis: a}
	if r.Load != nil {
		o.Load = &fixture.Load{Ohm: r.Load.Ohm, Tolerance: r.Load.Tolerance}
	}
	return o
}

// A short look tells the kind of a part, and the frequency that is chosen by it is one
// that standards or the trade name for the part; what is read there has an interval that
// contains the true value.
func TestALookAtDrawnParts(t *testing.T) {
	n := 12
	if *testkit.Soak {
		n = 400
	}
	for _, refOhm := range []float64{100, 10e3} {
		rng := rand.New(rand.NewPCG(7, uint64(refOhm)))
		right, named, contained := 0, 0, 0
		for range n {
			b := newDrawnBench(t, rng, refOhm)
			p, kind, value := drawnPart(rng)
			look := b.look(t, p)
			got, ok := Recognize(look)
			if !ok || got.Kind != kind {
				t.Logf("ref %g: %v is taken for %v", refOhm, p, got)
				continue
			}
			right++
			s, err := b.setup.Suit(got, look, b.hz)
			if err != nil {
				t.Fatal(err)
			}
			if slices.ContainsFunc(tradeHz(kind, value), func(hz float64) bool { return math.Abs(s.FreqHz/hz-1) <= 0.05 }) {
				named++
			} else {
				t.Logf("ref %g: %v at %g Hz", refOhm, p, s.FreqHz)
			}
			i := slices.IndexFunc(look, func(r impedance.Reading) bool { return math.Abs(r.FreqHz.Value/s.FreqHz-1) < 1e-3 })
			if i < 0 {
				t.Errorf("ref %g: %v: the look has no %g Hz", refOhm, p, s.FreqHz)
				continue
			}
			e := impedance.MainOf(look[i:i+1], impedance.Element{Kind: kind})
			q, truth := e.In(look[i]), trueElement(e, p, b.jig.TrueHz(s.FreqHz))
			if q.Low <= truth && truth <= q.High {
				contained++
			} else {
				t.Logf("ref %g: %v at %g Hz: %v %g to %g, truly %g", refOhm, p, s.FreqHz, e, q.Low, q.High, truth)
			}
		}
		t.Logf("reference %g Ω: kind right in %d of %d, frequency named in %d, interval contains the value in %d", refOhm, right, n, named, contained)
		if 100*right < 97*(n-1) || 100*named < 97*(right-1) || 100*contained < 90*(right-1) {
			t.Error("too few")
		}
	}
}

// tradeHz are the frequencies that IEC 60384-1 (from memory) and the trade (common
// practice, no source) name for a part, as far as a card plays them.
func tradeHz(kind impedance.Kind, value float64) []float64 {
	switch {
	case kind == impedance.Resistor:
		return []float64{1e3}
	case kind == impedance.Inductor:
		return []float64{100, 1e3, 10e3}
	case value > 10e-6:
		return []float64{100, 120}
	}
	return []float64{1e3, 10e3}
}

// trueElement is an element of a part whose impedance is known.
func trueElement(e impedance.Element, p drawnjig.Part, hz float64) float64 {
	z, w := p.Z(hz), 2*math.Pi*hz
	y := 1 / z
	parallel := e.Circuit == impedance.ParallelCircuit
	switch {
	case e.Kind == impedance.Resistor && parallel:
		return 1 / real(y)
	case e.Kind == impedance.Resistor:
		return real(z)
	case e.Kind == impedance.Capacitor && parallel:
		return imag(y) / w
	case e.Kind == impedance.Capacitor:
		return -1 / (w * imag(z))
	case parallel:
		return -1 / (w * imag(y))
	}
	return imag(z) / w
}

// Without a look the expected value decides; what standards ask for beyond the card is
// named.
func TestSuitByExpectation(t *testing.T) {
	s := bench(t)
	for _, c := range []struct {
		text   string
		unit   parts.Unit
		wantHz []float64
		beyond string
	}{
		{"10p", parts.Farad, []float64{10e3}, "IEC 60384-1"},
		{"100n", parts.Farad, []float64{1e3, 10e3}, ""},
		{"470u", parts.Farad, []float64{100, 120}, ""},
		{"4k7", parts.Ohm, []float64{1e3}, ""},
		{"22u", parts.Henry, []float64{10e3}, "MIL-PRF-15305"},
		{"1", parts.Henry, []float64{100, 1e3}, ""},
	} {
		m, err := parts.Expect(c.text, c.unit)
		if err != nil {
			t.Fatal(err)
		}
		p, err := NewPart(m, "")
		if err != nil {
			t.Fatal(err)
		}
		got, err := s.Suit(p, nil, nil)
		if err != nil {
			t.Fatal(err)
		}
		if !slices.Contains(c.wantHz, got.MeantHz) {
			t.Errorf("%s %s: %g Hz, want one of %v", c.text, c.unit, got.MeantHz, c.wantHz)
		}
		if beyond := ""; got.Beyond != nil {
			if beyond = got.Beyond.Standard; beyond != c.beyond {
				t.Errorf("%s %s: beyond the card lies what %q asks for, want %q", c.text, c.unit, beyond, c.beyond)
			}
		} else if c.beyond != "" {
			t.Errorf("%s %s: nothing lies beyond the card, want what %s asks for", c.text, c.unit, c.beyond)
		}
	}
}
