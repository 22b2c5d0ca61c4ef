// Demodulate prints the tones of a WAV file: frequency, level and phase of each
// channel, and what else the record shows.
//
//	go run ./examples/demodulate tone.wav
package main

import (
	"fmt"
	"log"
	"math"
	"math/cmplx"
	"os"

	"example.org/wheatear/audio/wave"
	"example.org/wheatear/lockin/record"
)

func main() {
	file, err := os.Open(os.Args[1])
	if err != nil {
		log.Fatal(err)
	}
	rec, err := wave.ReadAll(file, nil)
	if err != nil {
		log.Fatal(err)
	}
	found, err := record.Analyze(record.Signal{RateHz: rec.RateHz, Channels: rec.Channels, Bits: rec.Bits}, record.Config{})
	if err != nil {
		log.Fatal(err)
	}
	for _, tone := range found.Tones {
		for ch, a := range tone.Phasors {
			fmt.Printf("%.3f Hz, channel %d: %.4f of full scale (peak), %.2f°\n", tone.FreqHz, ch+1, cmplx.Abs(a), cmplx.Phase(a)*180/math.Pi)
		}
	}
	for _, f := range found.Findings {
		fmt.Printf("%s: %s\n", f.Code, f.Detail)
	}
}
