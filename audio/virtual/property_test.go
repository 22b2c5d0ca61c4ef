package virtual

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// drawCircuit makes up a circuit of at most depth levels, with values as parts
// have them.
func drawCircuit(t *rapid.T, depth int) string {
	kinds := []string{"R", "C", "L"}
	if depth > 0 {
		kinds = append(kinds, "+", "//", "+", "//")
	}
	kind := rapid.SampledFrom(kinds).Draw(t, "kind")
	low, high := 0.0, 0.0 // decades
	switch kind {
	case "R":
		low, high = -2, 7
	case "C":
		low, high = -11, -3
	case "L":
		low, high = -8, -1
	default:
		n := rapid.IntRange(2, 3).Draw(t, "parts")
		parts := make([]string, n)
		for i := range parts {
			parts[i] = drawCircuit(t, depth-1)
		}
		return "(" + strings.Join(parts, " "+kind+" ") + ")"
	}
	return fmt.Sprintf("%s %.4g", kind, math.Pow(10, rapid.Float64Range(low, high).Draw(t, "decades")))
}

// drawJig makes up a jig.
func drawJig(t *rapid.T) Jig {
	j := TypicalJig()
	j.Channels = rapid.SampledFrom([][2]string{{"total", "part"}, {"total", "reference"}, {"part", "reference"}}).Draw(t, "channels")
	j.ReferenceOhm = rapid.SampledFrom([]float64{10, 100, 1e3, 1e4, 1e5}).Draw(t, "reference")
	if rapid.Bool().Draw(t, "bare") {
		j = Jig{Channels: j.Channels, ReferenceOhm: j.ReferenceOhm, SourceOhm: 50}
	}
	return j
}

// Whatever the circuit, its modes are the circuit, and none of them grows.
func TestModesOfAnyCircuit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := drawCircuit(t, 3)
		j, err := drawJig(t).withDefaults()
		if err != nil {
			t.Fatal(err)
		}
		b := j.build(inserted{part: part(text)})
		m, err := b.net.solve(2 * math.Pi * 960)
		if err != nil {
			t.Fatalf("%s: %v", text, err)
		}
		for _, l := range m.lambda {
			if real(l) > 0 {
				t.Errorf("%s: a mode %v grows", text, l)
			}
		}
		for _, freqHz := range []float64{20, 1000, 19000} {
			want := acOf(t, b.net, 2*math.Pi*freqHz)
			for o := range want {
				if got := m.response(2*math.Pi*freqHz, o, 0); cmplx.Abs(got-want[o]) > 1e-9+1e-6*cmplx.Abs(want[o]) {
					t.Errorf("%s at %g Hz, output %d: got %v, want %v", text, freqHz, o, got, want[o])
				}
			}
		}
	})
}

// noiseDrive is samples without any order.
func noiseDrive(n int, seed uint64) []float64 {
	r := rand.New(rand.NewPCG(seed, 1))
	out := make([]float64, n)
	for i := range out {
		out[i] = r.Float64() - 0.5
	}
	return out
}

// played plays a drive through a typical jig from rest.
func played(t *testing.T, p *Part, drive []float64) []frame {
	t.Helper()
	j := full(t, TypicalJig())
	pl, err := newPlayer(j.build(inserted{part: p}), testRate, newKernel())
	if err != nil {
		t.Fatal(err)
	}
	y, err := pl.process(nil, drive)
	if err != nil {
		t.Fatal(err)
	}
	return y
}

// A linear circuit is linear, and no circuit knows what time it is.
func TestSuperpositionAndShift(t *testing.T) {
	linear := part("C 1u + R 0.2 // L 10m")
	a, b := noiseDrive(1500, 1), noiseDrive(1500, 2)
	sum := make([]float64, len(a))
	for i := range sum {
		sum[i] = 2*a[i] - 3*b[i]
	}
	ya, yb, ys := played(t, linear, a), played(t, linear, b), played(t, linear, sum)
	for i := range ys {
		for ch := range 2 {
			if want := 2*ya[i][ch] - 3*yb[i][ch]; math.Abs(ys[i][ch]-want) > 1e-12 {
				t.Fatalf("frame %d: %v, want %v", i, ys[i][ch], want)
			}
		}
	}
	for name, p := range map[string]*Part{"linear": linear, "not linear": {Circuit: "C 1u", Junctions: []Junction{{}}}} {
		y := played(t, p, a)
		late := played(t, p, append(make([]float64, 37), a...))
		for i := range y {
			if math.Abs(late[i+37][1]-y[i][1]) > 1e-9 { // Newton's method ends where it is fine enough
				t.Fatalf("%s: 37 frames later frame %d is %v, not %v", name, i, late[i+37][1], y[i][1])
			}
		}
	}
}

// At a low level each element is the linear one that it begins as.
func TestLowLevel(t *testing.T) {
	cases := map[string]struct {
		curved Part
		linear string
	}{
		// The slope at 0 V: Is/(n·kT/q).
		"junction": {Part{Junctions: []Junction{{SaturationA: 1e-6, Emission: 2, SeriesOhm: 10, Farad: 1e-9}}},
			fmt.Sprintf("R 10 + R %.12g // C 1n", 2*thermalVolt/1e-6)},
		"three": {Part{Junctions: []Junction{{SaturationA: 1e-6, Emission: 2, Count: 3}}}, fmt.Sprintf("R %.12g", 6*thermalVolt/1e-6)},
		"back":  {Part{Junctions: []Junction{{SaturationA: 1e-6, Emission: 2, Reverse: true}}}, fmt.Sprintf("R %.12g", 2*thermalVolt/1e-6)},
		"ceramic": {Part{Ceramics: []Ceramic{{Farad: 1e-6, Volt: 3, SeriesOhm: 0.5, Henry: 1e-9, LeakOhm: 1e6}}},
			"R 0.5 + L 1n + C 1u // R 1M"},
		"core": {Part{Cores: []Core{{Henry: 0.18, FluxVs: 2.6e-4, WindingOhm: 22, LossOhm: 50e3, Farad: 80e-12}}},
			"(R 22 + L 0.18 // R 50k) // C 80p"},
		"core and junction": {Part{Cores: []Core{{Henry: 0.18, FluxVs: 2.6e-4, WindingOhm: 22}}, Junctions: []Junction{{SaturationA: 1e-6, Emission: 2}}},
			fmt.Sprintf("(R 22 + L 0.18 // R 1M) // R %.12g", 2*thermalVolt/1e-6)},
	}
	const level = 1e-6
	drive := noiseDrive(40, 3)
	slow := make([]float64, 1200) // smooth: 0.025 of the rate, where 16 steps are fine
	for i := range slow {         // and comes and goes smoothly, so that no filter matters
		fade := level * math.Pow(math.Sin(math.Pi*float64(i)/float64(len(slow))), 4)
		for k, v := range drive {
			slow[i] += fade * v * math.Sin(2*math.Pi*0.025*float64(i*(k+1))/float64(len(drive)))
		}
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			got, want := played(t, &c.curved, slow), played(t, part(c.linear), slow)
			worst, size := 0.0, 0.0
			for i := range got {
				worst, size = max(worst, math.Abs(got[i][1]-want[i][1])), max(size, math.Abs(want[i][1]))
			}
			// (2π·0.025/16)²/12 is 8e-6.
			if worst > 2e-5*size {
				t.Errorf("off by %.2g of %.2g", worst, size)
			}
		})
	}
}
