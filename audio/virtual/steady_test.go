package virtual

import (
	"math"
	"math/cmplx"
	"testing"
)

// steadyTolerance is a tenth of the contract of the package, relative to each
// output.
const steadyTolerance = 1e-7

func steadyCases() map[string]struct {
	jig  Jig
	part string
} {
	type c = struct {
		jig  Jig
		part string
	}
	vg := TypicalJig()
	vg.Channels, vg.Amplifier = [2]string{"part", "-reference"}, Amplifier{4e6, 200e3, 50, 8e-12}
	ideal := vg
	ideal.Amplifier = Amplifier{}
	diff := TypicalJig()
	diff.Channels = [2]string{"part", "reference"}
	diff.Inputs[0].CommonMode, diff.ReferenceOhm = 1e-3, 100
	ref := TypicalJig()
	ref.Channels, ref.SourceFarad, ref.ReferenceOhm = [2]string{"total", "reference"}, 0, 10e3
	bare := Jig{}
	return map[string]c{
		"resistor":           {TypicalJig(), "R 100"},
		"small resistor":     {TypicalJig(), "R 1 + L 8n"},
		"large resistor":     {TypicalJig(), "R 1M // C 0.25p"},
		"wire":               {TypicalJig(), "R 0"},
		"nothing":            {TypicalJig(), ""},
		"electrolytic":       {TypicalJig(), "C 4700u + R 20m + L 15n"},
		"film":               {ref, "C 100p + R 0.3 + L 4n"},
		"tank":               {ref, "C 100n // (L 10m + R 12)"},
		"critically damped":  {bare, "L 1m + C 1n + R 2k"},
		"bare":               {bare, "C 1u"},
		"lossless":           {TypicalJig(), "L 10m + C 100n"},
		"two alike":          {bare, "(R 1k // C 100n) + (R 1k // C 100n)"},
		"inductors in a row": {diff, "L 1m + L 2m + R 3"},
		"inductor":           {diff, "(L 33.6m + R 21.5) // C 60p // R 300k"},
		"amplifier":          {vg, "C 3.27n + R 0.3 + L 4n"},
		"ideal amplifier":    {ideal, "C 3.27n + R 0.3 + L 4n"},
		"speaker":            {TypicalJig(), "R 5.83 + L 320u // R 9 + L 110u // R 28 + R 31 // L 38m // C 520u"},
	}
}

// What a tone becomes in time is what the equations say of it, up to 0.4 of the rate.
func TestSteadyState(t *testing.T) {
	const rateHz = 48000.0
	k := newKernel()
	for name, c := range steadyCases() {
		t.Run(name, func(t *testing.T) {
			j := full(t, c.jig)
			worst := 0.0
			freqs := []float64{19200, 997, 7919}
			if raceEnabled { // too slow for all
				freqs = freqs[:1]
			}
			for _, freqHz := range freqs {
				b := j.build(inserted{part: part(c.part), contactOhm: j.ContactOhm})
				p, err := newPlayer(b, rateHz, k)
				if err != nil {
					t.Fatal(err)
				}
				want := acOf(t, b.net, 2*math.Pi*freqHz)
				got := playTone(t, p, rateHz, freqHz, 24000, 4800, 1)
				for ch := range got {
					size := cmplx.Abs(want[ch])
					worst = max(worst, cmplx.Abs(got[ch]-want[ch])/size)
					if cmplx.Abs(got[ch]-want[ch]) > steadyTolerance*size {
						t.Errorf("%g Hz, output %d: got %v, want %v", freqHz, ch+1, got[ch], want[ch])
					}
				}
			}
			t.Logf("worst %.2g", worst)
		})
	}
}

// The modes give back the network that they were taken from.
func TestModesResponse(t *testing.T) {
	for name, c := range steadyCases() {
		j := full(t, c.jig)
		b := j.build(inserted{part: part(c.part), contactOhm: j.ContactOhm})
		m, err := b.net.solve(2 * math.Pi * 1000)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		worst := 0.0
		for _, freqHz := range []float64{1, 10, 100, 1e3, 1e4, 1e5} {
			want := acOf(t, b.net, 2*math.Pi*freqHz)
			for o := range want {
				got := m.response(2*math.Pi*freqHz, o, 0)
				worst = max(worst, cmplx.Abs(got-want[o])/cmplx.Abs(want[o]))
			}
		}
		t.Logf("%s: %d modes, off by %.2g", name, len(m.lambda), worst)
		if worst > 10*steadyTolerance { // the contract: at 1 Hz an output may be a millionth of the other
			t.Errorf("%s: off by %g", name, worst)
		}
	}
}
