package spectrum_test

import (
	"fmt"

	"example.org/wheatear/lockin/spectrum"
)

func ExampleWindow() {
	fmt.Printf("a Hann window has a noise bandwidth of %.3f bins, a flat top of %.3f\n",
		spectrum.Hann().ENBWBins(1024), spectrum.FlatTop().ENBWBins(1024))
	// Output:
	// a Hann window has a noise bandwidth of 1.500 bins, a flat top of 3.771
}

func ExampleAmplitudeDB() {
	fmt.Printf("half of full scale is %.1f dB\n", spectrum.AmplitudeDB(0.5))
	// Output:
	// half of full scale is -6.0 dB
}
