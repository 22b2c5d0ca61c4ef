package spectrum

import (
	"fmt"
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
