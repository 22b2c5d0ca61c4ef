package jigcheck

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/record"
)

// quiet is a silence with noise and hum.
func quiet(seed uint64, noise [2]float64, humHz float64, peaks ...float64) Recording {
	r := rand.New(rand.NewPCG(seed, 3))
	const rate, n = 8000.0, 16000
	s := record.Signal{RateHz: rate, Channels: [][]float64{make([]float64, n), make([]float64, n)}}
	phase := 2 * math.Pi * r.Float64()
	for i := range n {
		hum := 0.0
		for k, p := range peaks {
			hum += p * math.Cos(float64(k+1)*(2*math.Pi*humHz*float64(i)/rate+phase))
		}
		for ch := range 2 {
			s.Channels[ch][i] = 1e-3 + hum + noise[ch]*r.NormFloat64()
		}
	}
	return Recording{Step: Idle, File: "idle", Signal: s}
}

func TestSilence(t *testing.T) {
	jig := newDesk().jig(t, "")
	for _, hz := range []float64{49.98, 50.2, 60.03} {
		r := examine(t, Evidence{Jig: jig, Recordings: []Recording{quiet(1, [2]float64{1e-5, 1.2e-5}, hz, 1e-3, 0, 3e-4)}})
		only(t, r)
		// 16000 samples tell the rms of noise within 0.6 %, four of these are 0.2 dB.
		if f := r.Figure("silence", "noise, rms, without hum", 2); f == nil || math.Abs(f.Value.Value-decibels(1.2e-5)) > 0.2 {
			t.Errorf("%g Hz: noise %+v", hz, f)
		}
		want := decibels(math.Sqrt((1e-6 + 9e-8) / 2))
		if f := r.Figure("silence", "hum, rms", 1); f == nil || math.Abs(f.Value.Value-want) > 0.05 {
			t.Errorf("%g Hz: hum %+v, want %g", hz, f, want)
		}
		lines := 0
		for _, f := range r.Figures {
			if f.Name == "mains line, peak" && f.Channel == 1 {
				if lines++; math.Abs(f.FreqHz-hz*float64(2*lines-1)) > 0.1*float64(lines) {
					t.Errorf("a line at %g Hz for mains of %g Hz", f.FreqHz, hz)
				}
			}
		}
		if lines != 2 {
			t.Errorf("%g Hz: %d lines, want 2", hz, lines)
		}
	}
}

// Noise alone shows no mains and no fault: 200 silences with a chance of some 1e-4 each.
func TestNoMainsInNoise(t *testing.T) {
	jig := newDesk().jig(t, "")
	humming := 0
	for seed := range uint64(60) {
		r := examine(t, Evidence{Jig: jig, Recordings: []Recording{quiet(seed, [2]float64{1e-5, 1e-5}, 50)}})
		only(t, r)
		if r.Model.HumRMS != [2]float64{} {
			humming++
		}
	}
	if humming > 1 {
		t.Errorf("hum in %d of 60 silences without", humming)
	}
}

func TestNoisyInput(t *testing.T) {
	jig := newDesk().jig(t, "")
	r := examine(t, Evidence{Jig: jig, Recordings: []Recording{quiet(1, [2]float64{1e-5, 6e-5}, 50, 1e-4)}})
	only(t, r, finding.Noise)
	if f := fault(r, finding.Noise); f.Channel != 2 || math.Abs(f.Value.Value-decibels(6e-5)) > 0.2 || f.Unit != "dBFS" {
		t.Errorf("%+v", f)
	}
	r = examine(t, Evidence{Jig: jig, Recordings: []Recording{quiet(1, [2]float64{1e-3, 1e-3}, 50)}})
	only(t, r, finding.Noise)
}

// Hum that rose by 3 dB is named with that, hum that stayed or fell is not.
func TestHumAgainstEarlier(t *testing.T) {
	jig := newDesk().jig(t, "")
	was := examine(t, Evidence{Jig: jig, Recordings: []Recording{quiet(1, [2]float64{1e-5, 1e-5}, 50.01, 1e-3)}}).Model
	was.Date = "2026-01-02T03:04:05Z"
	up := math.Pow(10, 3/20.)
	for factor, named := range map[float64]bool{up: true, 1: false, 1.05: false, 0.5: false} {
		r := examine(t, Evidence{Jig: jig, Earlier: &was, Recordings: []Recording{quiet(2, [2]float64{1e-5, 1e-5}, 49.99, 1e-3*factor)}})
		if r.Has(finding.Hum) != named {
			t.Errorf("hum times %g: %+v", factor, r.Faults)
		}
		if f := fault(r, finding.Hum); named && (math.Abs(f.Value.Value-3) > 0.1 || f.Unit != "dB" || !strings.Contains(f.Detail, "2026-01-02")) {
			t.Errorf("%+v", f)
		}
	}
	// Among verifications since, of other things, it is still the last that knew the hum.
	since := Verified{Schema: VerifiedSchema, Date: "2026-02-02T03:04:05Z"}
	since.Keep(&was)
	r := examine(t, Evidence{Jig: jig, Earlier: &since, Recordings: []Recording{quiet(2, [2]float64{1e-5, 1e-5}, 49.99, 1e-3*up)}})
	if !strings.Contains(fault(r, finding.Hum).Detail, "2026-01-02") {
		t.Errorf("%+v", r.Faults)
	}
}
