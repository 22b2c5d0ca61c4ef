package jigcheck

import (
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/record"
)

// ladder is the step levels of a card that makes of a peak what hear says, with a third
// harmonic.
func ladder(hear func(ch int, played float64) (heard, third float64)) []Recording {
	var out []Recording
	for _, db := range []float64{-50, -38, -26, -20, -14, -8, -4, -1} {
		p := math.Pow(10, db/20)
		t := record.ToneFit{NominalHz: 997, FreqHz: 997, Cov: mat.NewSymDense(4, nil), Dof: 100, Detected: []bool{true, true},
			LineU: []float64{0, 0}, HarmonicU: []float64{1e-8, 1e-8}}
		for ch := range 2 {
			h, third := hear(ch, p)
			t.Phasors = append(t.Phasors, complex(h, 0))
			t.Harmonics = append(t.Harmonics, []complex128{0, complex(third, 0), 0, 0})
			t.Cov.SetSym(2*ch, 2*ch, 1e-14)
			t.Cov.SetSym(2*ch+1, 2*ch+1, 1e-14)
		}
		a := &record.Analysis{RateHz: testRate, Frames: 48000, End: 48000, Tones: []record.ToneFit{t}}
		if t.Phasors[0] == complex(0.8, 0) {
			a.Findings = []finding.Finding{{Code: finding.Clipped, Severity: finding.Invalid}}
		}
		out = append(out, Recording{Step: Levels, File: "levels", Analysis: a, Played: []fixture.Played{{FreqHz: 997, Amplitude: p}}})
	}
	return out
}

func TestLevels(t *testing.T) {
	linear := func(ch int, p float64) (float64, float64) { return p * (0.9 - 0.4*float64(ch)), 0 }
	cases := []struct {
		name  string
		hear  func(ch int, p float64) (float64, float64)
		codes []finding.Code
		value float64
		unit  string
		say   string
	}{
		{name: "linear", hear: linear},
		{name: "automatic gain", codes: []finding.Code{finding.AutoGain}, value: -35.5, unit: "dB", say: "peaks are brought to 0.1 of full scale",
			hear: func(ch int, p float64) (float64, float64) {
				return math.Min(p*30, 0.1) * (1 - 0.4*float64(ch)), 0.01 // its own harmonics are not judged
			}},
		{name: "noise gate", codes: []finding.Code{finding.AutoGain}, value: 6.02, unit: "dB", say: "gain changes by +6.02 dB",
			hear: func(ch int, p float64) (float64, float64) {
				if p < 0.005 {
					return p * 0.45, 0
				}
				return p * 0.9, 0
			}},
		{name: "cubic input", codes: []finding.Code{Distortion}, value: -60, unit: "dB", say: "to -60.0 dB at full scale; the other input",
			hear: func(ch int, p float64) (float64, float64) {
				h, _ := linear(ch, p)
				if ch == 0 {
					return h, 1e-3 * h * h * h
				}
				return h, 0
			}},
		{name: "cubic inputs", codes: []finding.Code{Distortion}, value: -60, unit: "dB", say: "each input bends it by its own level, both alike",
			hear: func(ch int, p float64) (float64, float64) { h, _ := linear(ch, p); return h, 1e-3 * h * h * h }},
		{name: "source", codes: []finding.Code{Distortion}, value: -60, unit: "dB", say: "both inputs hear it alike",
			hear: func(ch int, p float64) (float64, float64) { h, _ := linear(ch, p); return h, 1e-3 * h }},
		{name: "good enough", hear: func(ch int, p float64) (float64, float64) { h, _ := linear(ch, p); return h, 0.9e-4 * h }},
		{name: "clipped at the top", hear: func(ch int, p float64) (float64, float64) {
			if p > 0.8 {
				return 0.8, 0.05
			}
			return p, 0
		}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r := examine(t, Evidence{Jig: newDesk().jig(t, ""), Recordings: ladder(c.hear)})
			only(t, r, c.codes...)
			if len(c.codes) == 0 {
				return
			}
			f := fault(r, c.codes[0])
			// 0.1 dB: what the figures above leave out after the point.
			if math.Abs(f.Value.Value-c.value) > 0.1 || f.Unit != c.unit || !strings.Contains(f.Detail, c.say) {
				t.Errorf("%+v", f)
			}
		})
	}
}

func TestClippingPoint(t *testing.T) {
	r := examine(t, Evidence{Jig: newDesk().jig(t, ""), Recordings: ladder(func(ch int, p float64) (float64, float64) {
		return math.Min(p, 0.8), 0
	})})
	f := r.Figure("levels", "peaks are flat from here on", 1)
	if f == nil || math.Abs(f.Value.Value-20*math.Log10(0.8)) > 1e-9 {
		t.Errorf("%+v", f)
	}
}

func TestStream(t *testing.T) {
	d := newDesk()
	long := func(ppm float64, findings ...finding.Finding) Evidence {
		r := d.record(Long, 1000)
		r.Analysis.ClockPPM, r.Analysis.ClockUPPM, r.Analysis.Findings = ppm, 0.1, findings
		return Evidence{Jig: d.jig(t, ""), Recordings: []Recording{r}}
	}
	only(t, examine(t, long(12)))
	r := examine(t, long(-80))
	only(t, r, finding.Clock)
	if f := fault(r, finding.Clock); f.Value.Value != -80 || f.Unit != "ppm" || !strings.Contains(f.Detail, "80 ppm slower") {
		t.Errorf("%+v", f)
	}
	r = examine(t, long(0, finding.Finding{Code: finding.Dropout, Detail: "12 samples are missing at 0.5 s"}, finding.Finding{Code: finding.Dropout, Detail: "40 samples are zero"}))
	only(t, r, finding.Dropout)
	if f := fault(r, finding.Dropout); f.Value.Value != 2 || f.Severity != finding.Invalid || !strings.Contains(f.Detail, "12 samples") {
		t.Errorf("%+v", f)
	}
	for _, detail := range []string{"the system converted the rate from 44100 Hz: the noise repeats", "the system converts between this rate and 44100 Hz: images"} {
		r = examine(t, long(0, finding.Finding{Code: finding.Resampled, Detail: detail}))
		only(t, r, finding.Resampled)
		if f := fault(r, finding.Resampled); f.Value.Value != 44100 || f.Unit != "Hz" {
			t.Errorf("%s: %+v", detail, f)
		}
	}
	// What only a recording with several tones shows is not believed beside one that does not.
	e := long(0)
	several := d.record(Load, 1000)
	several.Load = &fixture.Load{Ohm: 1000, Tolerance: 0.001}
	several.Analysis.Findings = []finding.Finding{{Code: finding.Resampled, Detail: "from 176400 Hz"}}
	e.Recordings = append(e.Recordings, several)
	if examine(t, e).Has(finding.Resampled) {
		t.Error("several tones are believed")
	}
	r = examine(t, long(0, finding.Finding{Code: finding.Resampled, Detail: "the noise ends below half the rate, 40 dB down there"}))
	if f := fault(r, finding.Resampled); !math.IsNaN(f.Value.Value) {
		t.Errorf("a rate is named that nobody saw: %+v", f)
	}
}

// The latency is that of the signal, for a tone that begins 0.123 s late.
func TestLatency(t *testing.T) {
	d := newDesk()
	r := d.record(Long, 1000)
	r.LeadS = 0.31
	r.Signal = record.Signal{RateHz: 8000, Channels: [][]float64{make([]float64, 16000), make([]float64, 16000)}}
	from := int(math.Round(8000 * (0.31 + 0.123)))
	for i := from; i < 16000; i++ {
		r.Signal.Channels[1][i] = 0.3 * math.Sin(0.7*float64(i))
	}
	f := examine(t, Evidence{Jig: d.jig(t, ""), Recordings: []Recording{r}}).Figure("stream", "latency from output to input", 0)
	if f == nil || math.Abs(f.Value.Value-0.123) > 2e-3 {
		t.Errorf("%+v", f)
	}
}
