package demo

import (
	"context"
	"math"
	"math/cmplx"
	"slices"
	"strings"
	"testing"

	"example.org/wheatear/audio"
	"example.org/wheatear/audio/virtual"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/impedance"
)

// The circuits in the tray are what the formulas say: an ideal simulated jig finds
// the same impedance. The tolerance is what is left of the slowest transient, of
// 391 µF at 1 kΩ, after three seconds: e^-7.7/(ωτ), 1e-6, and much for rounding.
func TestFormulasAreTheCircuits(t *testing.T) {
	const tolerance, rate, seconds = 2e-5, 48000, 3
	tray, err := virtual.ParseTray("tray.toml", Tray)
	if err != nil {
		t.Fatal(err)
	}
	card, err := virtual.New(virtual.Config{Tray: &virtual.Tray{Parts: tray.Parts}})
	if err != nil {
		t.Fatal(err)
	}
	tones := []float64{128, 1000, 10000}
	stimulus := make([]float64, seconds*rate)
	for i := range stimulus {
		for _, hz := range tones {
			stimulus[i] += 0.2 * math.Sin(2*math.Pi*hz*float64(i)/rate)
		}
	}
	for _, p := range Parts() {
		if err := card.Insert(p.Name); err != nil {
			t.Fatal(err)
		}
		rec, err := card.Run(context.Background(), audio.Config{RateHz: rate, Frames: len(stimulus)}, stimulus)
		if err != nil {
			t.Fatal(err)
		}
		for _, hz := range tones {
			total, part := bin(rec.Channels[0], hz, rate), bin(rec.Channels[1], hz, rate)
			got, want := 1000*part/(total-part), p.Truth(hz)
			if off := cmplx.Abs(got-want) / math.Min(cmplx.Abs(want), 1e5); off > tolerance {
				t.Errorf("%s at %g Hz: the circuit has %v, the formula %v", p.Name, hz, got, want)
			}
		}
	}
}

// bin correlates the last half second, which holds whole cycles of every tone and
// ends before the edge that the end of the stimulus makes.
func bin(x []float64, hz, rate float64) complex128 {
	sum := complex(0, 0)
	for i := len(x) - int(rate*0.6); i < len(x)-int(rate*0.1); i++ {
		sum += complex(x[i], 0) * cmplx.Exp(complex(0, -2*math.Pi*hz*float64(i)/rate))
	}
	return sum
}

// The coil's resonance is where its reactance vanishes.
func TestCoilResonance(t *testing.T) {
	i := slices.IndexFunc(Parts(), func(p Part) bool { return p.Name == Coil })
	f := CoilResonanceHz()
	below, above := Parts()[i].Truth(0.9*f), Parts()[i].Truth(1.1*f)
	if imag(below) <= 0 || imag(above) >= 0 || impedance.KindOf(above) != impedance.Capacitor {
		t.Errorf("about %g Hz: %v, %v", f, below, above)
	}
	if !strings.Contains(string(Tray), `"(R 33 + L 92m) // C 1.1n // R 220k"`) {
		t.Error("the tray has another coil")
	}
}

func TestExact(t *testing.T) {
	r := Exact(complex(3, -40), 1000)
	if c := r.Series.C.Value; math.Abs(c*2*math.Pi*1000*40-1) > 1e-12 || !r.Series.L.IsAbsent() {
		t.Errorf("3-40j: series C %g, L %v", c, r.Series.L)
	}
	// In parallel the same impedance: 1/(1/R + jωC).
	z := 1 / complex(1/r.Parallel.R.Value, 2*math.Pi*1000*r.Parallel.C.Value)
	if cmplx.Abs(z-complex(3, -40)) > 1e-9 {
		t.Errorf("3-40j: parallel R and C give %v", z)
	}
	l := Exact(complex(3, 40), 1000)
	if z := 1 / (1/complex(l.Parallel.R.Value, 0) + 1/complex(0, 2*math.Pi*1000*l.Parallel.L.Value)); cmplx.Abs(z-complex(3, 40)) > 1e-9 {
		t.Errorf("3+40j: parallel R and L give %v", z)
	}
}

// The files are in order, and the jig's reference lies within what its file claims.
func TestFiles(t *testing.T) {
	jig, err := fixture.ParseJig("jig.toml", Jig)
	if err != nil {
		t.Fatal(err)
	}
	tray, err := virtual.ParseTray("tray.toml", Tray)
	if err != nil {
		t.Fatal(err)
	}
	if off := tray.Jig.ReferenceOhm/jig.ReferenceOhm - 1; off == 0 || math.Abs(off) > jig.ReferenceTolerance {
		t.Errorf("the reference is off by %g, want less than %g and not nothing", off, jig.ReferenceTolerance)
	}
	for _, p := range Parts() {
		if !slices.ContainsFunc(tray.Parts, func(q virtual.Part) bool { return q.Name == p.Name }) {
			t.Errorf("%s is not in the tray", p.Name)
		}
	}
}
