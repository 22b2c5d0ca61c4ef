package lockin

import (
	"fmt"
	"math"
)

func ExampleWindow() {
	for _, w := range []Window{Rectangular(), Hann(), FlatTop()} {
		side, _ := w.SideLobeDB(1024)
		fmt.Printf("%-20s noise bandwidth %.3f bins, scallop loss %.3f dB, side lobes %.1f dB\n", w.Name(), w.ENBWBins(1024), w.ScallopDB(1024), side)
	}
	// Output:
	// rectangular          noise bandwidth 1.000 bins, scallop loss 3.922 dB, side lobes -13.3 dB
	// hann                 noise bandwidth 1.500 bins, scallop loss 1.424 dB, side lobes -31.5 dB
	// flattop-iso18431-2   noise bandwidth 3.771 bins, scallop loss 0.009 dB, side lobes -83.9 dB
}

func ExampleToneModel() {
	m := ToneModel{N: 4800, RateHz: 48000, FreqHz: 1000, Amplitude: 0.5, Sigma: 0.001}
	b, err := m.Exact()
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("amplitude ±%.2g, phase ±%.2g rad, frequency ±%.2g Hz\n", b.Amplitude, b.PhaseRad, b.FreqHz)
	// Output: amplitude ±2e-05, phase ±8.2e-05 rad, frequency ±0.00023 Hz
}

func ExampleWelch() {
	x := make([]float64, 8192)
	for n := range x {
		x[n] = math.Sin(2 * math.Pi * float64(n) / 16)
	}
	density, freqsHz, err := Welch(x, 48000, 1024, Hann())
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

func ExampleLowPass() {
	l := LowPass{TimeConstantS: 0.1, Poles: 4}
	fmt.Printf("%.3f Hz wide to noise, 3 dB down at %.3f Hz, settled to 1 %% after %.2f s\n", l.ENBWHz(), l.CutoffHz(), l.SettlingS(0.01))
	// Output: 0.781 Hz wide to noise, 3 dB down at 0.692 Hz, settled to 1 % after 1.00 s
}

func ExampleEffectiveBits() {
	fmt.Printf("an ideal 16 bit converter: %.2f dB; 90 dB are %.2f bits\n", QuantisationSNRdB(16), EffectiveBits(90))
	// Output: an ideal 16 bit converter: 98.09 dB; 90 dB are 14.66 bits
}

func ExampleGrid() {
	k, period, ok := Grid(1000, 44100)
	fmt.Println(k, period, ok)
	_, _, ok = Grid(1000.0001, 44100)
	fmt.Println(ok)
	// Output:
	// 10 441 true
	// false
}
