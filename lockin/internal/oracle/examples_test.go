package oracle

import "fmt"

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

func ExampleEffectiveBits() {
	fmt.Printf("an ideal 16 bit converter: %.2f dB; 90 dB are %.2f bits\n", QuantisationSNRdB(16), EffectiveBits(90))
	// Output: an ideal 16 bit converter: 98.09 dB; 90 dB are 14.66 bits
}
