package welch_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"example.org/wheatear/lockin/internal/testkit"
	"example.org/wheatear/lockin/spectrum"
	"example.org/wheatear/lockin/spectrum/welch"
	"go.uber.org/goleak"
)

// White noise of variance 1 has density 2/rate everywhere, and the sum is the
// mean square; a tone keeps its power whatever the window.
func TestWelch(t *testing.T) {
	defer goleak.VerifyNone(t)
	rng := rand.New(rand.NewPCG(31, 32))
	x := make([]float64, 1<<17)
	for i := range x {
		x[i] = rng.NormFloat64()
	}
	for name, w := range map[string]spectrum.Window{"rectangular": spectrum.Rectangular(), "Hann": spectrum.Hann(), "Blackman-Harris": spectrum.BlackmanHarris()} {
		density, freqs, err := welch.Density(x, 48000, 1024, w)
		if err != nil {
			t.Fatal(err)
		}
		sum := 0.0
		for _, d := range density {
			sum += d * 48000 / 1024
		}
		// 1.3e5 samples: the mean square itself scatters by 0.4 %.
		testkit.CheckRel(t, name+": power of noise", sum, 1, 0.02)
		testkit.CheckRel(t, "last frequency", freqs[512], 24000, 1e-12)
		tone := testkit.Cosine(1<<14, 48000*100.0/1024, 48000, 0.5, 1)
		density, _, err = welch.Density(tone, 48000, 1024, w)
		if err != nil {
			t.Fatal(err)
		}
		testkit.CheckRel(t, name+": peak of a tone", density[100]*w.ENBWBins(1024)*48000/1024, 0.125, 1e-9)
	}
}

func TestWelchRefuses(t *testing.T) {
	x := make([]float64, 100)
	for _, segment := range []int{0, 4, 100, 128, -8} {
		if _, _, err := welch.Density(x, 48000, segment, spectrum.Hann()); err == nil {
			t.Errorf("segments of %d: no error", segment)
		}
	}
	if _, _, err := welch.Density(x, 0, 64, spectrum.Hann()); err == nil {
		t.Error("rate 0: no error")
	}
}

func ExampleDensity() {
	x := make([]float64, 8192)
	for n := range x {
		x[n] = math.Sin(2 * math.Pi * float64(n) / 16)
	}
	density, freqsHz, err := welch.Density(x, 48000, 1024, spectrum.Hann())
	if err != nil {
		fmt.Println(err)
		return
	}
	top, power := 0, 0.0
	for i, d := range density {
		power += d * freqsHz[1]
		if d > density[top] {
			top = i
		}
	}
	fmt.Printf("%.0f Hz, mean square %.3f\n", freqsHz[top], power)
	// Output: 3000 Hz, mean square 0.500
}
