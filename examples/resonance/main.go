// Resonance computes at what frequency a coil and a capacitor resonate, from one reading
// of each, with its uncertainty: what both readings share, such as the tolerance of the
// reference, acts on both.
//
//	go run ./examples/resonance coil.wav capacitor.wav
package main

import (
	"fmt"
	"log"
	"math"
	"os"

	"example.org/wheatear/audio/wave"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/record"
	"example.org/wheatear/lockin/uncertain"
)

func main() {
	jig, err := fixture.NewJig(fixture.Pair{{Carries: fixture.Total}, {Carries: fixture.Part}}, 1000)
	check(err)
	coil, capacitor := read(jig, os.Args[1]), read(jig, os.Args[2])
	both, err := fixture.Combine([]*fixture.Corrected{coil}, []*fixture.Corrected{capacitor})
	check(err)
	result, err := both.Propagate(1, func(dst []float64, z []complex128, hz []float64) {
		l, c := imag(z[0])/(2*math.Pi*hz[0]), -1/(2*math.Pi*hz[1]*imag(z[1]))
		dst[0] = 1 / (2 * math.Pi * math.Sqrt(l*c))
	})
	check(err)
	fmt.Println("L  ", uncertain.FormatQuantity(coil.Reading.Series.L, "H"))
	fmt.Println("C  ", uncertain.FormatQuantity(capacitor.Reading.Series.C, "F"))
	fmt.Println("f0 ", uncertain.FormatQuantity(result.Quantity(0), "Hz"))
}

// read measures a part without a calibration, which its uncertainty says.
func read(jig *fixture.Jig, path string) *fixture.Corrected {
	file, err := os.Open(path)
	check(err)
	defer file.Close()
	rec, err := wave.ReadAll(file, nil)
	check(err)
	heard, err := record.Analyze(record.Signal{RateHz: rec.RateHz, Channels: rec.Channels, Bits: rec.Bits}, record.Config{TonesHz: []float64{1000}})
	check(err)
	part, err := fixture.MeasureUncalibrated(jig, []fixture.Observation{{Role: fixture.PartRole, File: path, Analysis: heard}}, 1000, fixture.Options{})
	check(err)
	return part
}

func check(err error) {
	if err != nil {
		log.Fatal(err)
	}
}
