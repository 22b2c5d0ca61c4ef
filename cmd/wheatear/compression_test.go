package main

import (
	"encoding/json"
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"example.org/wheatear/audio"
	"example.org/wheatear/audio/wave"
)

// recordBent writes a recording of z ohm behind 1 kΩ with both inputs bent by
// tanh(k·x)/k: the first hears both together, the second the part, by Ohm's law.
func recordBent(t *testing.T, file string, z complex128, k float64, seed uint64) {
	t.Helper()
	const rate, hz, source, behind, reference = 48000, 1000.7, 0.6, 30, 1000
	rng := rand.New(rand.NewPCG(seed, 3))
	loop := z + reference + behind
	heard := [2]complex128{source * (z + reference) / loop, source * z / loop}
	if cmplx.IsInf(z) {
		heard = [2]complex128{source, source}
	}
	rec := &audio.Record{RateHz: rate, Channels: [][]float64{nil, nil}}
	for i := range rate / 2 {
		turn := cmplx.Rect(1, 2*math.Pi*hz*float64(i)/rate)
		for ch, a := range heard {
			v := math.Tanh(k*real(a*turn)) / k
			rec.Channels[ch] = append(rec.Channels[ch], v+1e-5*rng.NormFloat64())
		}
	}
	f, err := os.Create(file)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := wave.WriteAll(f, rec, 24, false); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
}

// A third harmonic h of a tone of amplitude a takes k = √(12·h)/a: tanh x = x - x³/3 + …
// Small ones are corrected, large ones refused, by the calibration or by the reading.
func TestInputsThatCompress(t *testing.T) {
	for _, c := range []struct {
		dB   float64
		read bool
	}{{-71, true}, {-47, true}, {-29, false}} {
		t.Run(fmt.Sprintf("%g dB", c.dB), func(t *testing.T) {
			dir := t.TempDir()
			at := func(name string) string { return filepath.Join(dir, name) }
			k := math.Sqrt(12*math.Pow(10, c.dB/20)) / 0.6
			for i, z := range []complex128{cmplx.Inf(), 0, 1000, 470, 4700, complex(0, -1590)} {
				recordBent(t, at([]string{"o.wav", "s.wav", "l.wav", "r470.wav", "r4k7.wav", "c100n.wav"}[i]), z, k, uint64(i))
			}
			jig := "name = \"bent\"\nchannels = [\"total\", \"part\"]\nreference = \"1k\"\nreference_tolerance = \"1%\"\n"
			if err := os.WriteFile(at("jig.toml"), []byte(jig), 0o666); err != nil {
				t.Fatal(err)
			}
			status, out, talk := command("calibrate", "--jig", at("jig.toml"), "--at", "1000.7", "--open", at("o.wav"), "--short", at("s.wav"),
				"--load", "1k/0.1%="+at("l.wav"), "--out", at("cal.json"), "--json")
			if status != 0 {
				if c.read || status != 3 {
					t.Fatalf("calibrate ends with %d: %s %s", status, out, talk)
				}
				return
			}
			for name, want := range map[string]complex128{"r470": 470, "r4k7": 4700, "c100n": complex(0, -1590)} {
				status, out, talk := command("measure", "--jig", at("jig.toml"), "--calibration", at("cal.json"), "--at", "1000.7", "--recording", at(name+".wav"), "--json")
				var doc struct{ Readings []reading }
				if err := json.Unmarshal(out, &doc); err != nil || len(doc.Readings) != 1 {
					t.Fatalf("measure ends with %d: %v %s %s", status, err, out, talk)
				}
				r := doc.Readings[0]
				if !c.read {
					if status != 3 || !slices.Contains(r.Findings, "compression") {
						t.Errorf("%s is read with status %d, findings %v", name, status, r.Findings)
					}
					continue
				}
				if status != 0 {
					t.Fatalf("%s: status %d, findings %v", name, status, r.Findings)
				}
				for _, axis := range []struct {
					q    *quantity
					want float64
				}{{r.Z.Re, real(want)}, {r.Z.Im, imag(want)}} {
					low, high := bound(axis.q.Low, math.Inf(-1)), bound(axis.q.High, math.Inf(1))
					if axis.want < low || axis.want > high {
						t.Errorf("%s: %g ohm lies outside of %g to %g, findings %v", name, axis.want, low, high, r.Findings)
					}
					// The load of 0.1 % is twice that at the ends of its range.
					if high-low > 5e-3*cmplx.Abs(want) {
						t.Errorf("%s: from %g to %g ohm is no reading", name, low, high)
					}
				}
				t.Logf("%s: %.6g %+.6gj ohm, findings %v", name, *r.Z.Re.Value, *r.Z.Im.Value, r.Findings)
			}
		})
	}
}
