package spectrum

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
