package trouble

import (
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/internal/testkit"
	"math"
	"strings"
	"testing"
)

func TestSamplesNotFinite(t *testing.T) {
	x := testkit.SteadyBase(1000, 60).Make(1)[0]
	x[500], x[9000], x[9001] = math.NaN(), math.Inf(1), math.Inf(-1)
	s := ExamineSamples(x, 48000)
	if s.NotFinite != 3 || s.FirstNotFinite != 500 || s.FiniteFirst != 9002 || s.FiniteEnd != len(x) {
		t.Errorf("%+v", s)
	}
	if math.IsNaN(s.Mean) || math.IsNaN(s.Peak) || s.Peak > 1 {
		t.Errorf("mean %g, peak %g of the finite samples", s.Mean, s.Peak)
	}
	f := s.Findings(1, 48000, false)
	if len(f) != 1 || f[0].Code != finding.NotFinite || f[0].Severity != finding.Invalid || f[0].Channel != 2 || math.Abs(*f[0].AtS-500/48000.) > 1e-12 {
		t.Errorf("%+v", f)
	}
	if f = s.Findings(1, 48000, true); f[0].Severity != finding.Warning {
		t.Errorf("with a sound stretch used: %+v", f)
	}
}

func TestSamplesAllNotFinite(t *testing.T) {
	s := ExamineSamples([]float64{math.NaN(), math.NaN()}, 10)
	if s.NotFinite != 2 || s.FiniteEnd != s.FiniteFirst || s.Silent || s.Mean != 0 {
		t.Errorf("%+v", s)
	}
}

func TestDigitalSilence(t *testing.T) {
	for _, c := range []struct {
		frames int
		value  float64
		want   bool
	}{{9600, 0, true}, {9600, -0.25, true}, {9599, 0, false}, {0, 0, false}} {
		x := make([]float64, c.frames)
		for i := range x {
			x[i] = c.value
		}
		s := ExamineSamples(x, 48000)
		if s.Silent != c.want {
			t.Errorf("%d samples of %g: silent %t", c.frames, c.value, s.Silent)
		}
		if f := s.Findings(0, 48000, false); c.want && (len(f) != 1 || f[0].Code != finding.NoSignal ||
			!strings.Contains(f[0].Detail, "digital silence") || !strings.Contains(f[0].Advice, "macOS")) {
			t.Errorf("%+v", f)
		}
	}
	x := make([]float64, 48000)
	x[47999] = math.Exp2(-23) // one last bit is life
	if ExamineSamples(x, 48000).Silent {
		t.Error("one sample differs by a last bit: not silence")
	}
}

func TestOffsetAndHeadroom(t *testing.T) {
	for _, c := range []struct {
		offset float64
		want   int
	}{{0.3, 1}, {-0.0501, 1}, {0.0499, 0}, {0, 0}} {
		x := make([]float64, 48000)
		for i := range x {
			x[i] = c.offset + 0.5*math.Sin(2*math.Pi*float64(i)/48)
		}
		s := ExamineSamples(x, 48000)
		f := s.Findings(1, 48000, false)
		if len(f) != c.want || math.Abs(s.Mean-c.offset) > 1e-12 {
			t.Errorf("offset %g: %+v", c.offset, f)
		}
		if c.offset == 0.3 && !strings.Contains(f[0].Detail, "offset 0.300 on channel 2") {
			t.Errorf("%q", f[0].Detail)
		}
		if want := -20 * math.Log10(0.5+math.Abs(c.offset)); math.Abs(s.HeadroomDB-want) > 1e-9 {
			t.Errorf("headroom %g dB, want %g", s.HeadroomDB, want)
		}
	}
	if s := ExamineSamples(make([]float64, 10), 48000); !math.IsInf(s.HeadroomDB, 1) {
		t.Errorf("headroom of silence %g dB", s.HeadroomDB)
	}
}
