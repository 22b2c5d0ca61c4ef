package main

import (
	"encoding/json"
	"math"
	"math/cmplx"
	"strings"
	"testing"

	"example.org/wheatear/lockin/uncertain"
)

const decadeJig = `name = "bench"
channels = ["total", "part"]
reference = "1k"
reference_tolerance = "0.1%"
full_scale = "1V"
mains = 50
[card]
backend = "virtual"
[virtual]
tray = "tray.toml"
`

// decadeTray holds parts that stay within a decade of the reference from 20 Hz to
// 20 kHz: at both its ends, and from one nearly to the other.
const decadeTray = `[[part]]
name = "r100"
circuit = "R 100 + L 30n"
[[part]]
name = "r10k"
circuit = "R 10k // C 0.3p"
[[part]]
name = "falling"
circuit = "R 9k // (R 110 + C 47n)"
`

// decadeParts are their formulas.
var decadeParts = map[string]func(s complex128) complex128{
	"r100":    func(s complex128) complex128 { return 100 + s*30e-9 },
	"r10k":    func(s complex128) complex128 { return 1 / (1e-4 + s*0.3e-12) },
	"falling": func(s complex128) complex128 { return 1 / (1/9e3 + 1/(110+1/(s*47e-9))) },
}

// decadeBench is a calibrated jig with these parts.
func decadeBench(t testing.TB) string {
	dir := files(t, map[string]string{"jig.toml": decadeJig, "tray.toml": decadeTray})
	done(t, dir, "calibrate", "--jig", "jig.toml", "--at", "20..20k/31", "--load", "1k/0.1%", "--out", "cal.json")
	return dir
}

const decadeSweep = "sweep --jig jig.toml --calibration cal.json --at 20..20k/31 --to 0.2% --json --part "

// All tones at once reach 0.2 % in under 3 s of signal.
func TestTogetherIsFast(t *testing.T) {
	t.Parallel()
	dir := decadeBench(t)
	for part, z := range decadeParts {
		out, _ := done(t, dir, strings.Fields(decadeSweep+part+" --together")...)
		if s := judged(t, part, out, z); !(s > 0 && s < 3) {
			t.Errorf("%s: %.2f s of signal, want less than 3 s", part, s)
		}
	}
}

// BenchmarkSweep tells how much signal 31 points from 20 Hz to 20 kHz take to
// 0.2 % of |Z|, together and step by step.
func BenchmarkSweep(b *testing.B) {
	dir := decadeBench(b)
	for b.Loop() {
		together, _ := done(b, dir, strings.Fields(decadeSweep+"falling --together")...)
		b.ReportMetric(judged(b, "falling", together, decadeParts["falling"]), "s-together")
		steps, _ := done(b, dir, strings.Fields(decadeSweep+"falling")...)
		b.ReportMetric(judged(b, "falling", steps, decadeParts["falling"]), "s-steps")
	}
}

// judged holds every |Z| of a sweep against the truth and against 0.2 %, and
// returns the seconds of signal. Among 93 readings of 95 % some may miss: 5 of 31
// have a chance below 1 % if each is on its own (binomial, 5 %, 31).
func judged(t testing.TB, part, text string, z func(complex128) complex128) float64 {
	t.Helper()
	var s struct {
		SignalS  float64 `json:"signal_s"`
		Readings []struct {
			Nominal float64 `json:"frequency_nominal_hz"`
			Z       struct {
				Modulus uncertain.Quantity `json:"modulus_ohm"`
			}
		}
	}
	if err := json.Unmarshal([]byte(text), &s); err != nil {
		t.Fatal(err)
	}
	if len(s.Readings) != 31 {
		t.Fatalf("%s: %d points, want 31", part, len(s.Readings))
	}
	missed := 0
	for _, r := range s.Readings {
		q, want := r.Z.Modulus, cmplx.Abs(z(complex(0, 2*math.Pi*r.Nominal)))
		if half := (q.High - q.Low) / 2 / q.Value; !(half <= 0.002) {
			t.Errorf("%s at %g Hz: |Z| to %.2g %%, want 0.2 %%", part, r.Nominal, 100*half)
		}
		if off := math.Abs(q.Value/want - 1); !(off <= 0.002) {
			t.Errorf("%s at %g Hz: |Z| is off by %.2g %%, want at most 0.2 %%", part, r.Nominal, 100*off)
		}
		if want < q.Low || want > q.High {
			missed++
		}
	}
	if missed > 5 {
		t.Errorf("%s: %d of 31 intervals miss the truth", part, missed)
	}
	return s.SignalS
}
